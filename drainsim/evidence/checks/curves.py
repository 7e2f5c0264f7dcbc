"""The model's lines with the published points on them: what a table of checks looks like drawn."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np

from drainsim.evidence import asking
from drainsim.evidence.asking import AGM, ANTIMONY, FLOODED
from drainsim.evidence.check import CheckResult
from drainsim.language import marked
from drainsim.physics.tables import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One of the model's lines."""

    name: str
    x: FloatArray
    y: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A published value at its place, from the check of that key."""

    key: str
    source: str
    x: float
    low: float
    high: float
    passed: bool
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Lines and points of one quantity; `logarithmic` is about the x axis."""

    key: str
    title: str
    x_label: str
    y_label: str
    lines: tuple[Line, ...]
    points: tuple[Point, ...]
    logarithmic: bool = False


# Where each check stands on its curve. Values, sources and verdicts are the checks' own.
_OPEN_CIRCUIT: Final = {
    "ocv-flooded-full-loader": 100.0,
    "ocv-flooded-half-loader": 50.0,
    "ocv-flooded-empty-loader": 0.0,
    "ocv-flooded-full-bands": 100.0,
    "ocv-flooded-75-bands": 75.0,
    "ocv-flooded-half-bands": 50.0,
    "ocv-flooded-quarter-bands": 25.0,
    "ocv-theory-full": 100.0,
    "ocv-theory-half": 50.0,
    "ocv-theory-empty": 0.0,
    "ocv-gravity-rule-empty": 0.0,
    "ocv-agm-full-owner": 100.0,
    "ocv-agm-75-owner": 75.0,
    "ocv-agm-half-owner": 50.0,
    "ocv-agm-quarter-owner": 25.0,
    "ocv-agm-half-pure": 50.0,
    "ocv-agm-half-table": 50.0,
    "ocv-agm-half-camper": 50.0,
    "ocv-agm-75-measured": 75.0,
    "ocv-agm-50-measured": 50.0,
    "ocv-agm-25-measured": 25.0,
}
_POWER: Final = {
    "crank-power-0c": 0.0,
    "crank-power-18c": -17.8,
    "crank-power-roller-1c": -1.1,
    "crank-power-automotive": -18.0,
    "crank-power-29c-manual": -28.9,
    "crank-power-29c-chart": -28.9,
    "crank-power-29c-magazine": -29.0,
    "crank-power-blog": -17.8,
}
_DEMAND: Final = {
    "crank-need-0c": 0.0,
    "crank-need-18c": -17.8,
    "crank-need-29c": -28.9,
    "crank-need-18c-blog": -17.8,
    "crank-need-18c-older": -17.8,
    "crank-need-20c-garage": -20.0,
    "crank-need-27c-garage": -27.0,
    "crank-need-4c-club": 4.0,
}
_OILS: Final = ("10W-30", "5W-30")  # those the checks of need ask for
_FREEZING: Final = {
    "freeze-1100-roller": 1.100,
    "freeze-1120-truck": 1.120,
    "freeze-1150-course": 1.150,
    "freeze-1160-traction": 1.160,
    "freeze-1190-truck": 1.190,
    "freeze-1200-course": 1.200,
    "freeze-30-percent-acid": 1.2185,
    "freeze-1220-traction": 1.220,
    "freeze-1250-course": 1.250,
    "freeze-1155-outlier": 1.155,
}
_RATE: Final = {
    "rate-10h-core": 10.0,
    "rate-c100-kinetic-library": 100.0,
    "rate-c2000-kinetic-library": 2000.0,
    "rate-c2000-physics-library": 2000.0,
    "rate-c2000-starter-kinetic": 2000.0,
}
_LOSS: Final = {
    "loss-antimony-10c": 10.0,
    "loss-antimony-27c": 26.7,
    "loss-antimony-38c": 37.8,
    "loss-antimony-roller": 25.0,
    "loss-antimony-motorcycle": 25.0,
    "loss-antimony-handbook": 20.0,
    "loss-agm-handbook-10c": 10.0,
    "loss-agm-handbook-20c": 20.0,
    "loss-agm-support": 25.0,
    "loss-agm-standby": 25.0,
}
_PER_DAY: Final = {"%": 1.0 / 30.0, "%/day": 1.0}
_PEUKERT: Final = 1.2  # exponent of the power law drawn for comparison; it is not used


def curves(results: Mapping[str, CheckResult]) -> tuple[Curve, ...]:
    """Return all curves; `results` are the checks' results by key."""
    celsius = marked("battery temperature [°C]")
    cold = np.linspace(-30.0, 30.0, 121)
    return (
        Curve(
            key="open_circuit",
            title=marked("Resting voltage against charge"),
            x_label=marked("charge [%]"),
            y_label=marked("resting voltage [V]"),
            lines=tuple(
                _line(name, np.linspace(0.0, 100.0, 101), _rest(key))
                for name, key in ((marked("flooded"), FLOODED), ("AGM", AGM))
            ),
            points=_points(results, _OPEN_CIRCUIT),
        ),
        Curve(
            key="cranking_power",
            title=marked("Cranking power left in the cold"),
            x_label=celsius,
            y_label=marked("share of the warm power"),
            lines=(_line(marked("full battery"), cold, asking.power_ratio),),
            points=_points(results, _POWER),
        ),
        Curve(
            key="demand",
            title=marked("Cranking power an engine needs in the cold"),
            x_label=marked("engine temperature [°C]"),
            y_label=marked("times the warm need"),
            lines=tuple(_line(oil, cold, partial(asking.demand_ratio, oil=oil)) for oil in _OILS),
            points=_points(results, _DEMAND),
        ),
        Curve(
            key="freezing",
            title=marked("Freezing point of the electrolyte"),
            x_label=marked("specific gravity at 26.7 °C"),
            y_label=marked("freezing point [°C]"),
            lines=(_line(marked("electrolyte"), np.linspace(1.0, 1.3, 121), asking.freezing_c),),
            points=_points(results, _FREEZING),
        ),
        Curve(
            key="capacity_rate",
            title=marked("Charge delivered against the length of a discharge"),
            x_label=marked("discharge takes [h]"),
            y_label=marked("charge over that of 20 h"),
            lines=(
                _line("model", np.geomspace(1.0, 3000.0, 80), _share_at),
                _line("power law 1.2, not used", np.geomspace(1.0, 3000.0, 80), _power_law),
            ),
            points=_points(results, _RATE),
            logarithmic=True,
        ),
        Curve(
            key="self_discharge",
            title=marked("Self-discharge against temperature"),
            x_label=celsius,
            y_label=marked("charge lost per day [%]"),
            lines=tuple(
                _line(name, np.linspace(-10.0, 45.0, 111), _daily_loss(key))
                for name, key in ((marked("flooded antimony"), ANTIMONY), ("AGM", AGM))
            ),
            points=_points(results, _LOSS, scales=_PER_DAY),
        ),
    )


def _line(name: str, x: FloatArray, value: Callable[[float], float]) -> Line:
    return Line(name=name, x=x, y=np.array([value(float(at)) for at in x]))


def _points(
    results: Mapping[str, CheckResult],
    places: Mapping[str, float],
    *,
    scales: Mapping[str, float] | None = None,
) -> tuple[Point, ...]:
    found = []
    for key, place in places.items():
        result = results[key]
        scale = 1.0 if scales is None else scales[result.check.unit]
        low, high = result.check.ends
        found.append(
            Point(
                key=key,
                source=result.check.source.cited(result.check.clause),
                x=place,
                low=scale * low,
                high=scale * high,
                passed=result.passed,
                verdict=result.verdict,
            )
        )
    return tuple(found)


def _rest(key: str) -> Callable[[float], float]:
    known = asking.profile(key).curve("open_circuit_v")
    return lambda percent: float(np.interp(percent / 100.0, known[:, 0], known[:, 1]))


def _daily_loss(key: str) -> Callable[[float], float]:
    return lambda temperature_c: asking.loss_percent(key, temperature_c, 1.0)


def _share_at(hours: float) -> float:
    battery = asking.kinetic(FLOODED, 25.0 / 0.6, 60.0)
    return asking.delivered_ah(battery, hours) / asking.delivered_ah(battery, 20.0)


def _power_law(hours: float) -> float:
    return float((hours / 20.0) ** ((_PEUKERT - 1.0) / _PEUKERT))
