"""The added unit: what it draws at each voltage, from events or from measured averages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.files.presets import Preset, preset
from drainsim.physics.load import average_current_a, event_charge_as, fix_time_s
from drainsim.units import SECONDS_PER_HOUR, ah_from_as
from drainsim.vehicle.ledger import Ledger

_COMMON_PRACTICE: Final = "common practice, no source"
# How far above a threshold a unit comes back where nothing else is said, and the logarithmic
# spread of a draw the user gave and of one assumed: common practice, no source.
_LADDER_HYSTERESIS_V: Final = 0.2
_CUTOFF_HYSTERESIS_V: Final = 0.5
_GIVEN_SIGMA: Final = 0.10
_GUESSED_SIGMA: Final = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitMode:
    """One way of working: mean current at the rated voltage and the voltages that end it.

    `enter_below_v` is the battery voltage below which this mode begins, `leave_above_v` the
    one above which the mode before returns; the first mode has neither.
    """

    name: str
    current_a: float
    enter_below_v: float | None = None
    leave_above_v: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """An added unit; modes run from normal to switched off. `fitted` is False for none."""

    fitted: bool
    modes: tuple[UnitMode, ...]
    switching: bool
    rated_at_v: float
    peak_a: float
    once_ah: float
    sigma: float
    switches_off: bool

    @property
    def normal_current_a(self) -> float:
        """Mean current in normal working, at the rated voltage. [A]."""
        return self.modes[0].current_a


NO_UNIT: Final = Unit(
    fitted=False,
    modes=(UnitMode(name="none", current_a=0.0),),
    switching=False,
    rated_at_v=12.0,
    peak_a=0.0,
    once_ah=0.0,
    sigma=0.0,
    switches_off=False,
)


def unit_from_scenario(ledger: Ledger) -> Unit:
    """Return the unit a scenario describes.

    Raises
    ------
    ScenarioError
        If voltages are in the wrong order or a report is longer than its interval.
    """
    scenario = ledger.scenario
    if not scenario.has("unit"):
        ledger.note("unit", "none", "", "default", "the scenario has no [unit] table")
        return NO_UNIT
    chosen = scenario.get("unit", "preset")
    start = preset("units", chosen, where="unit.preset") if chosen else None
    if start:
        ledger.note("unit.preset", chosen, "", "given", f"{start.name}; {start.source}")

    def take(key: str, unit: str, default: Any, source: str = _COMMON_PRACTICE) -> Any:
        return ledger.take("unit", key, unit, default=default, source=source, preset=start)[0]

    events = _events(ledger, take, start)
    interval_h = take("report_interval_h", "h", 1.0)
    modes = [_reporting(events, interval_h), *_rungs(ledger, events, start)]
    cutoff_v = take("cutoff_v", "V", None, "the unit has no cut-off of its own")
    if cutoff_v is not None:
        resume_v = _resume_v(ledger, cutoff_v, start)
        off = UnitMode(
            name="switched off",
            current_a=take("off_a", "A", 0.0001),
            enter_below_v=cutoff_v,
            leave_above_v=resume_v,
        )
        modes.append(off)
    _check_voltages(scenario.where, modes)
    peak_a = take("peak_a", "A", 0.25)
    switching = take("supply", "", "switching") == "switching"
    rated_at_v = take("rated_at_v", "V", 12.0)
    once_ah = ah_from_as(take("self_test_charge_as", "A·s", 0.0))
    once_ah += take("backup_charge_a", "A", 0.0) * take("backup_charge_h", "h", 0.0)
    given_draw = any(
        scenario.get("unit", key) is not None for key in ("sleep_a", "report_charge_as", "report")
    )
    return Unit(
        fitted=True,
        modes=tuple(modes),
        switching=switching,
        rated_at_v=rated_at_v,
        peak_a=peak_a,
        once_ah=once_ah,
        sigma=_GIVEN_SIGMA if given_draw else _GUESSED_SIGMA,
        switches_off=cutoff_v is not None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Events:
    """What a unit draws asleep and in its events; phases of a report, or its charge in A·s."""

    where: str
    idle_a: float
    coverage: float
    phases: Mapping[str, float] | None
    fixed_as: float
    beat_h: float | None
    beat_as: float

    def mean_a(self, interval_h: float) -> float:
        """Return the mean current when it reports every so many hours. [A]."""
        if self.phases is None:
            charge_as = self.fixed_as * self.coverage
        else:
            _refuse_overlap(self.where, self.phases, interval_h, self.coverage)
            charge_as = report_charge_as(
                self.phases, interval_h=interval_h, sleep_a=self.idle_a, coverage=self.coverage
            )
        mean = average_current_a(self.idle_a, charge_as=charge_as, every_h=interval_h)
        if self.beat_h:
            mean = average_current_a(mean, charge_as=self.beat_as, every_h=self.beat_h)
        return float(mean)


def _events(ledger: Ledger, take: Callable[..., Any], start: Preset | None) -> _Events:
    """Return sleep, reports and heartbeats of a scenario's unit."""
    scenario = ledger.scenario
    sleep_a = take("sleep_a", "A", 0.004)
    listening = take("listening", "", "none")
    listening_a = take("listening_a", "A", 0.0)
    if listening == "none" and listening_a > 0:
        raise ScenarioError(
            f"{scenario.where}: unit.listening_a is given but unit.listening is none; "
            "say paging, edrx or psm"
        )
    coverage = take("coverage", "", 1.0)
    own, own_as = scenario.get("unit", "report"), scenario.get("unit", "report_charge_as")
    if own is not None and own_as is not None:
        raise ScenarioError(
            f"{scenario.where}: unit has both report_charge_as and report; keep one of them"
        )
    phases, fixed_as = own, 0.0
    if own is None and own_as is None and start is not None:
        phases = start.values.get("report")
    if phases is None:
        fixed_as = float(take("report_charge_as", "A·s", 7.0))
    else:
        origin = "preset" if own is None else "given"
        ledger.note("unit.report", dict(phases), "", origin)
    return _Events(
        where=scenario.where,
        idle_a=sleep_a + listening_a,
        coverage=coverage,
        phases=phases,
        fixed_as=fixed_as,
        beat_h=take("heartbeat_interval_h", "h", None, "no heartbeat"),
        beat_as=take("heartbeat_charge_as", "A·s", 0.0, "no heartbeat"),
    )


def _reporting(
    events: _Events,
    interval_h: float,
    enter_below_v: float | None = None,
    leave_above_v: float | None = None,
) -> UnitMode:
    return UnitMode(
        name=f"reports every {interval_h:g} h",
        current_a=events.mean_a(interval_h),
        enter_below_v=enter_below_v,
        leave_above_v=leave_above_v,
    )


def _rungs(ledger: Ledger, events: _Events, start: Preset | None) -> list[UnitMode]:
    """Return the modes of a voltage ladder, highest voltage first."""
    own = ledger.scenario.get("unit", "ladder")
    ladder = start.values.get("ladder", []) if own is None and start is not None else own
    rungs = []
    for rung in sorted(ladder or [], key=lambda entry: -entry["below_v"]):
        below_v = rung["below_v"]
        resume_v = rung.get("resume_v", below_v + _LADDER_HYSTERESIS_V)
        rungs.append(_reporting(events, rung["report_interval_h"], below_v, resume_v))
        ledger.note("unit.ladder", dict(rung), "", "given" if own else "preset")
    return rungs


def _resume_v(ledger: Ledger, cutoff_v: float, start: Preset | None) -> float:
    """Return the voltage at which a unit switched off comes back.

    A preset's resume voltage belongs to its own cut-off and is not used with another.
    """
    own_cutoff = ledger.scenario.get("unit", "cutoff_v") is not None
    value, _ = ledger.take(
        "unit",
        "resume_v",
        "V",
        default=cutoff_v + _CUTOFF_HYSTERESIS_V,
        source=_COMMON_PRACTICE,
        preset=None if own_cutoff else start,
    )
    return float(value)


def report_charge_as(
    phases: Mapping[str, float], *, interval_h: float, sleep_a: float, coverage: float
) -> float:
    """Return the charge of one report above sleep, phase by phase. [A·s].

    `phases` has the keys of the scenario's [unit.report] table; `coverage` multiplies the
    attach and transmit phases (more power, longer attach, retries).
    """
    return event_charge_as(_rows(phases, interval_h, coverage), sleep_a=sleep_a)


def _rows(
    phases: Mapping[str, float], interval_h: float, coverage: float
) -> list[tuple[float, float]]:
    """Return (duration, current) of each phase of a report."""
    fix_s = float(
        fix_time_s(
            interval_h,
            hot_s=phases.get("fix_hot_s", 2.0),
            warm_s=phases.get("fix_warm_s", 28.0),
            cold_s=phases.get("fix_cold_s", 35.0),
            ephemeris_valid_h=phases.get("ephemeris_valid_h", 4.0),
        )
    )
    rows = [(fix_s if phases.get("fix_a") else 0.0, phases.get("fix_a", 0.0))]
    for name, factor in (
        ("wake", 1.0),
        ("attach", coverage),
        ("transmit", coverage),
        ("tail", 1.0),
    ):
        rows.append((phases.get(f"{name}_s", 0.0) * factor, phases.get(f"{name}_a", 0.0)))
    return rows


def _refuse_overlap(
    where: str, phases: Mapping[str, float], interval_h: float, coverage: float
) -> None:
    busy_s = sum(duration for duration, _ in _rows(phases, interval_h, coverage))
    if busy_s > interval_h * SECONDS_PER_HOUR:
        raise ScenarioError(
            f"{where}: unit.report takes {busy_s:.0f} s but unit.report_interval_h is "
            f"{interval_h:g} h ({interval_h * SECONDS_PER_HOUR:.0f} s); make the interval longer"
        )


def _check_voltages(where: str, modes: list[UnitMode]) -> None:
    """Refuse ladders whose steps are not in falling order or never come back."""
    last = float("inf")
    for mode in modes[1:]:
        enter, leave = mode.enter_below_v or 0.0, mode.leave_above_v or 0.0
        if enter >= last:
            raise ScenarioError(
                f"{where}: unit.ladder and cutoff_v must step down: {enter:g} V follows {last:g} V"
            )
        if leave <= enter:
            raise ScenarioError(
                f"{where}: unit: resume voltage {leave:g} V must be above {enter:g} V, else it "
                "would switch to and fro"
            )
        last = enter
