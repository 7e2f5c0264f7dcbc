"""What does a log of the current after key off say?"""

import copy
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim import __version__
from drainsim.answers.installer.current_log_words import (
    about_reports,
    log_warnings,
    ma,
    plus_minus,
)
from drainsim.errors import RecordError
from drainsim.files.current_log.reader import CurrentLog
from drainsim.files.presets import preset
from drainsim.language import Message, message
from drainsim.physics.current_log.pulses import PulseGroup
from drainsim.physics.current_log.settled import (
    LogFindings,
    analyse,
)
from drainsim.physics.current_log.stages import Stage
from drainsim.units import SECONDS_PER_HOUR
from drainsim.vehicle.compatibility import batteries_seen
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

LOG_OF: Final = ("vehicle", "total", "unit")
_PERIOD_SHARE: Final = 0.1  # how near a period must come to the unit's interval
_LONGEST_STAGE_S: Final = 86_400.0  # as the scenario allows
_OF_ANOTHER_UNIT: Final = frozenset({"preset", "report", "listening", "listening_a"})


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentLogAnswer:
    """What was found in a log, and what to mind about it."""

    findings: LogFindings
    where: str
    unit_reports: PulseGroup | None
    wake_ups: PulseGroup | None
    voltage_v: float | None  # median while asleep, if the log holds it
    warnings: tuple[str, ...]
    verdict: str

    @property
    def stages(self) -> tuple[Stage, ...]:
        """Return the stages, the settled one last."""
        return self.findings.stages

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        found = self.findings
        return {
            "drainsim_version": __version__,
            "asleep": found.asleep,
            "settled_a": found.settled_a,
            "settled_uncertainty_a": found.settled_uncertainty_a,
            "time_to_sleep_min": None if found.sleep_s is None else found.sleep_s / 60.0,
            "wake_ups": _group_dict(self.wake_ups),
            "unit_reports": _group_dict(self.unit_reports),
            "mean_a": found.mean_a,
            "mean_over_whole_periods": found.whole_periods,
            "level_so_far_a": found.level_a,
            "resolution_a": found.resolution_a,
            "noise_a": found.noise_a,
            "voltage_v": self.voltage_v,
            "log_min": found.span_s / 60.0,
            "asleep_for_min": found.asleep_for_s / 60.0,
            "gaps": found.gap_count,
            "stages": [
                {
                    "start_min": stage.start_s / 60.0,
                    "duration_min": stage.duration_s / 60.0,
                    "current_a": stage.current_a,
                }
                for stage in found.stages
            ],
            "verdict": self.verdict,
            "warnings": list(self.warnings),
        }


def _group_dict(group: PulseGroup | None) -> dict[str, Any]:
    if group is None:
        return {"period_min": None, "charge_as": None, "count": 0}
    return {
        "period_min": None if group.period_s is None else group.period_s / 60.0,
        "charge_as": group.charge_as,
        "count": group.count,
        "duration_s": group.duration_s,
        "peak_a": group.peak_a,
    }


def current_log(log: CurrentLog, *, report_every_min: float | None = None) -> CurrentLogAnswer:
    """Return what a log holds.

    Parameters
    ----------
    log : CurrentLog
        From `files.current_log.reader.read_current_log`.
    report_every_min : float, optional
        The added unit's report interval; wake-ups of that period are then its reports. [min]

    Raises
    ------
    RecordError
        If the settled current is negative: the clamp was not zeroed.
    """
    found = analyse(log.time_s, log.current_a, printed_a=log.printed_a)
    if found.settled_a is not None and found.settled_a < -max(found.resolution_a, 1e-4):
        raise RecordError(
            f"{log.where}: the settled current comes out negative ({found.settled_a:.4g} A): zero "
            "the clamp, or the battery was on a charger"
        )
    reports = None
    if report_every_min is not None:
        reports = next(
            (
                group
                for group in found.pulses
                if group.period_s is not None
                and abs(group.period_s / 60.0 - report_every_min) < _PERIOD_SHARE * report_every_min
            ),
            None,
        )
    wake_ups = next((group for group in found.pulses if group is not reports), None)
    voltage = None
    if log.voltage_v is not None:
        known = np.isfinite(log.voltage_v)
        if found.sleep_s is not None:
            known &= log.time_s >= found.sleep_s
        voltage = float(np.median(log.voltage_v[known])) if known.any() else None
    return CurrentLogAnswer(
        findings=found,
        where=log.where,
        unit_reports=reports,
        wake_ups=wake_ups,
        voltage_v=voltage,
        warnings=(
            *log.notes,
            *log_warnings(found, wake_ups, log),
            *about_reports(report_every_min, reports),
        ),
        verdict=_verdict(found),
    )


def _verdict(found: LogFindings) -> Message:
    if not found.asleep or found.settled_a is None or found.sleep_s is None:
        return message(
            "Not asleep yet: keep measuring. So far the lowest steady level is {ma:.0f} mA, held "
            "for {held:.0f} min of a log of {log:.0f} min.",
            ma=1000 * found.level_a,
            held=found.steady_for_s / 60,
            log=found.span_s / 60,
        )
    return message(
        "Asleep after {minutes:.0f} min; settled at {settled}, mean {mean}.",
        minutes=found.sleep_s / 60,
        settled=plus_minus(found.settled_a, found.settled_uncertainty_a),
        mean=ma(found.mean_a),
    )


def measured_scenario(
    answer: CurrentLogAnswer, *, base: Scenario | None = None, log_of: str = "vehicle"
) -> Scenario:
    """Return a scenario in which the log's values stand as measured.

    Parameters
    ----------
    answer : CurrentLogAnswer
    base : Scenario, optional
        What the rest comes from; an empty one otherwise.
    log_of : {"vehicle", "total", "unit"}
        What the log measured: the vehicle without the added unit, with it (the unit then leaves
        the scenario, its draw being in the vehicle's), or the unit alone.

    Raises
    ------
    RecordError
        If the vehicle was not asleep.
    """
    found = answer.findings
    if log_of not in LOG_OF:
        raise RecordError(f"--log-of {log_of}: use one of {', '.join(LOG_OF)}")
    if found.settled_a is None or found.settled_uncertainty_a is None:
        raise RecordError(
            f"{answer.where}: not asleep yet, so there is no settled current to write: keep "
            "measuring"
        )
    settled_a = max(found.settled_a, 0.0)
    tables: dict[str, Any] = copy.deepcopy(dict(base.tables)) if base else {}
    tables.setdefault("battery", {})
    measured = "unit" if log_of == "unit" else "vehicle"
    if log_of == "total":
        tables.pop("unit", None)
    before = tables.get(measured, {})
    if measured == "unit":
        usual_v = UNIT.rated_at_v.default * batteries_seen(tables)
        values = _measured_unit(answer, settled_a, answer.voltage_v or usual_v)
        before = {key: value for key, value in before.items() if key not in _OF_ANOTHER_UNIT}
    else:
        values = _measured_vehicle(answer, settled_a, _told_wake_ups(base) if base else [])
    tables[measured] = {**before, **values}
    names = [f"{measured}.{key}" for key in values]
    earlier = [
        name
        for name in (base.origins if base else {})
        if name not in names and name.split(".")[0] in tables
    ]
    tables["measured"] = {
        "keys": ", ".join([*earlier, *names]),
        "how": f"current log, settled {plus_minus(settled_a, found.settled_uncertainty_a)}",
    }
    return scenario_from_dict(
        tables, where=base.where if base else answer.where, folder=base.folder if base else None
    )


def _measured_unit(answer: CurrentLogAnswer, settled_a: float, at_v: float) -> dict[str, Any]:
    """Return the unit's values in a log of the unit alone, fed at a voltage."""
    seen = answer.findings.pulses
    regular = _regular([answer.unit_reports] if answer.unit_reports else seen)[:1]
    values = {"sleep_a": _steady_a(answer.findings, settled_a, regular), "rated_at_v": at_v}
    for period_s, group in regular:
        values["report_interval_h"] = period_s / SECONDS_PER_HOUR
        values["report_charge_as"] = max(group.charge_as, 0.0)
    if seen and not regular:
        values["report_charge_as"] = 0.0  # its reports are in the steady current
    return _rounded(values)


def _told_wake_ups(base: Scenario) -> list[dict[str, float]]:
    """Return the wake-ups of a scenario or of its preset."""
    told, chosen = base.get(VEHICLE.wake_ups), base.get(VEHICLE.preset)
    if told is None and chosen:
        told = preset("vehicles", chosen, where=VEHICLE.preset).values.get("wake_ups")
    return told or []


def _measured_vehicle(
    answer: CurrentLogAnswer, settled_a: float, told: Sequence[dict[str, float]]
) -> dict[str, Any]:
    """Return the vehicle's values: settled current, stages after key off, regular wake-ups.

    Of wake-ups told before, those stay that come more rarely than the log could see.
    """
    regular = _regular(answer.findings.pulses)
    steady_a = _steady_a(answer.findings, settled_a, regular)
    values: dict[str, Any] = {
        "quiescent_a": round(steady_a, 6),
        "key_off_stages": [
            {"duration_s": round(stage.duration_s, 1), "current_a": round(stage.current_a, 4)}
            for stage in answer.stages[:-1]
            if stage.current_a >= 0.0 and stage.duration_s <= _LONGEST_STAGE_S
        ],
    }
    wake_ups = [
        _rounded(
            {
                "every_h": period_s / SECONDS_PER_HOUR,
                "duration_s": group.duration_s,
                "current_a": steady_a + max(group.charge_as, 0.0) / group.duration_s,
            }
        )
        for period_s, group in regular
    ]
    seen_h = answer.findings.asleep_for_s / SECONDS_PER_HOUR
    wake_ups += [each for each in told if each["every_h"] > seen_h]
    return {**values, "wake_ups": wake_ups} if wake_ups or told else values


def _regular(pulses: Iterable[PulseGroup]) -> list[tuple[float, PulseGroup]]:
    """Return wake-ups that come at a regular interval, with that interval. [s]."""
    return [(group.period_s, group) for group in pulses if group.period_s]


def _steady_a(
    found: LogFindings, settled_a: float, regular: Sequence[tuple[float, PulseGroup]]
) -> float:
    """Return the current beside regular wake-ups: with the mean of all others in it. [A]."""
    told_a = sum(group.charge_as / period_s for period_s, group in regular)
    others = len(found.pulses) > len(regular) or found.stray_pulses
    return max(found.mean_a - told_a, settled_a) if others and found.mean_a else settled_a


def _rounded(values: dict[str, float]) -> dict[str, float]:
    return {key: float(f"{value:.6g}") for key, value in values.items()}
