"""The added unit: what it draws at each voltage, from events or from measured averages."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.models.ledger import Ledger
from drainsim.models.presets import Preset, preset
from drainsim.physics.load import average_current_a, event_charge_as, fix_time_s
from drainsim.units import SECONDS_PER_HOUR

_COMMON_PRACTICE: Final = "common practice, no source"


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

    sleep_a = take("sleep_a", "A", 0.004)
    listening = take("listening", "", "none")
    listening_a = take("listening_a", "A", 0.0)
    if listening == "none" and listening_a > 0:
        raise ScenarioError(
            f"{scenario.where}: unit.listening_a is given but unit.listening is none; "
            "say paging, edrx or psm"
        )
    idle_a = sleep_a + listening_a
    coverage = take("coverage", "", 1.0)
    phases = scenario.get("unit", "report")
    if phases is None and start is not None and scenario.get("unit", "report_charge_as") is None:
        phases = start.values.get("report")
    fixed_as = 0.0
    if phases is None:
        fixed_as = take("report_charge_as", "A·s", 7.0)
    elif scenario.get("unit", "report_charge_as") is not None:
        raise ScenarioError(
            f"{scenario.where}: unit has both report_charge_as and report; keep one of them"
        )
    else:
        ledger.note("unit.report", dict(phases), "", "given" if not start else "preset")

    def charge_as(interval_h: float) -> float:
        if phases is None:
            return float(fixed_as * coverage)
        return report_charge_as(phases, interval_h=interval_h, sleep_a=idle_a, coverage=coverage)

    beat_h = take("heartbeat_interval_h", "h", None, "no heartbeat")
    beat_as = take("heartbeat_charge_as", "A·s", 0.0, "no heartbeat")

    def mean_a(interval_h: float) -> float:
        if phases is not None:
            _refuse_overlap(scenario.where, phases, interval_h, coverage)
        mean = average_current_a(idle_a, charge_as=charge_as(interval_h), every_h=interval_h)
        if beat_h:
            mean = average_current_a(mean, charge_as=beat_as, every_h=beat_h)
        return float(mean)

    interval_h = take("report_interval_h", "h", 1.0)
    modes = [UnitMode(name=f"reports every {interval_h:g} h", current_a=mean_a(interval_h))]
    ladder = scenario.get("unit", "ladder")
    if ladder is None and start is not None:
        ladder = start.values.get("ladder", [])
    for rung in sorted(ladder or [], key=lambda entry: -entry["below_v"]):
        modes.append(
            UnitMode(
                name=f"reports every {rung['report_interval_h']:g} h",
                current_a=mean_a(rung["report_interval_h"]),
                enter_below_v=rung["below_v"],
                leave_above_v=rung.get("resume_v", rung["below_v"] + 0.2),
            )
        )
        ledger.note(
            "unit.ladder",
            dict(rung),
            "",
            "given" if scenario.get("unit", "ladder") else "preset",
        )
    cutoff_v = take("cutoff_v", "V", None, "the unit has no cut-off of its own")
    if cutoff_v is not None:
        resume_v = _resume_v(ledger, cutoff_v, start)
        off_a = take("off_a", "A", 0.0001)
        modes.append(
            UnitMode(
                name="switched off",
                current_a=off_a,
                enter_below_v=cutoff_v,
                leave_above_v=resume_v,
            )
        )
    _check_voltages(scenario.where, modes)
    peak_a = take("peak_a", "A", 0.25)
    switching = take("supply", "", "switching") == "switching"
    rated_at_v = take("rated_at_v", "V", 12.0)
    once_as = take("self_test_charge_as", "A·s", 0.0)
    once_ah = once_as / SECONDS_PER_HOUR + take("backup_charge_a", "A", 0.0) * take(
        "backup_charge_h", "h", 0.0
    )
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
        sigma=0.10 if given_draw else 0.25,
        switches_off=cutoff_v is not None,
    )


def _resume_v(ledger: Ledger, cutoff_v: float, start: Preset | None) -> float:
    """Return the voltage at which a unit switched off comes back.

    A preset's resume voltage belongs to its own cut-off and is not used with another.
    """
    own_cutoff = ledger.scenario.get("unit", "cutoff_v") is not None
    value, _ = ledger.take(
        "unit",
        "resume_v",
        "V",
        default=cutoff_v + 0.5,
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
