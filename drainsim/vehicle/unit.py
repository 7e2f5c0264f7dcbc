"""The added unit: what it draws at each voltage, from events or from measured averages."""

from dataclasses import dataclass
from typing import Final

from drainsim.errors import ScenarioError
from drainsim.units import ah_from_as
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.keys.parameter import PRACTICE, Keys, choice, number, table_of, text, usual
from drainsim.vehicle.keys.report import REPORT, Events, phases_of

_TABLE: Final = "unit"
# How far above a threshold a unit comes back where nothing else is said, and the logarithmic
# spread of a draw the user gave and of one assumed: common practice, no source.
_LADDER_HYSTERESIS_V: Final = 0.2
_CUTOFF_HYSTERESIS_V: Final = 0.5
_GIVEN_SIGMA: Final = 0.10
_GUESSED_SIGMA: Final = 0.25


class LADDER(
    Keys, name="ladder", of="unit", repeated=True, required=("below_v", "report_interval_h")
):
    """Voltage ladder: below each voltage the unit reports less often."""

    below_v = number((6, 28, "V"), "voltage below which this interval applies")
    report_interval_h = number((0.002, 10000, "h"), "time between reports there")
    resume_v = number(
        (6, 30, "V"),
        "voltage above which the step before returns",
        otherwise=f"below_v + {_LADDER_HYSTERESIS_V:g} V",
        source=PRACTICE,
    )


class UNIT(Keys, name="unit"):
    """The added always-on unit; leave the table out for a vehicle without one."""

    preset = text(
        "generic unit to start from, see: drainsim profiles",
        example="hourly",
        label="Added unit",
        column="unit",
    )
    sleep_a = number(
        (0, 5, "A"),
        "current between events, battery side",
        **usual(0.004),
        example=0.004,
        label="Sleep current",
        note="Between events, on the battery side; without what keeps it reachable.",
        column="sleep_a",
    )
    report_interval_h = number(
        (0.002, 10000, "h"),
        "time between reports while parked",
        **usual(1.0),
        example=1.0,
        label="Time between reports",
        column="report_interval_h",
    )
    report_charge_as = number(
        (0, 5000, "A·s"),
        "charge of one report above sleep",
        **usual(7.0),
        example=7.0,
        label="Charge of one report",
        note="Above the sleep current. 3600 A·s are 1 Ah.",
        step=0.5,
        column="report_charge_as",
    )
    peak_a = number((0, 20, "A"), "highest current", **usual(0.25), example=0.25)
    supply = choice(
        {"switching": "switching (constant power)", "linear": "linear (constant current)"},
        "supply stage: switching draws constant power, linear constant current",
        **usual("switching"),
        example="switching",
        label="Supply stage",
    )
    rated_at_v = number(
        (3, 36, "V"), "voltage the currents were stated at", **usual(12.0), example=12.0
    )
    cutoff_v = number(
        (6, 28, "V"),
        "voltage below which the unit switches itself off",
        otherwise="no cut-off",
        source="the unit has no cut-off of its own",
        example=11.5,
        label="Switches itself off below",
        step=0.1,
    )
    resume_v = number(
        (6, 30, "V"),
        "voltage above which it comes back",
        otherwise=f"cutoff_v + {_CUTOFF_HYSTERESIS_V:g} V",
        source=PRACTICE,
        needs=f"{_TABLE}.cutoff_v",
    )
    off_a = number(
        (0, 1, "A"), "current once switched off", **usual(0.0001), needs=f"{_TABLE}.cutoff_v"
    )
    heartbeat_interval_h = number(
        (0.002, 10000, "h"),
        "time between short signs of life",
        otherwise="none",
        source="no heartbeat",
        needs=f"{_TABLE}.heartbeat_charge_as",
    )
    heartbeat_charge_as = number(
        (0, 5000, "A·s"),
        "charge of one above sleep",
        **usual(0.0, "no heartbeat"),
        needs=f"{_TABLE}.heartbeat_interval_h",
    )
    listening = choice(
        ("none", "paging", "edrx", "psm"), "how it stays reachable between reports", **usual("none")
    )
    listening_a = number((0, 5, "A"), "mean current of that, on top of sleep", **usual(0.0))
    coverage = number(
        (1, 20, ""), "factor on attach and transmit charge where reception is poor", **usual(1.0)
    )
    backup_charge_a = number(
        (0, 5, "A"),
        "current recharging its internal cell after parking",
        **usual(0.0),
        needs=f"{_TABLE}.backup_charge_h",
    )
    backup_charge_h = number(
        (0, 100, "h"), "how long that takes", **usual(0.0), needs=f"{_TABLE}.backup_charge_a"
    )
    fed_from = choice(
        {
            "whole": "the whole system",
            "one_battery": "one of the two (a mistake)",
            "starter": "the starting battery",
            "auxiliary": "the auxiliary battery",
        },
        "battery the unit is fed from: the whole system, one of two in series (a mistake), "
        "the starting or the auxiliary battery",
        default="whole",
        usual_for={"auxiliary": "starter"},
        label="The unit is fed from",
    )
    self_test_charge_as = number(
        (0, 5000, "A·s"), "charge of its start-up self-test, drawn once", **usual(0.0)
    )
    report = table_of(REPORT)
    ladder = table_of(LADDER)


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
        """Mean current in normal working, where each battery that feeds it has 12 V. [A]."""
        return self.drawn_a(self.modes[0].current_a)

    def drawn_a(self, rated_a: float) -> float:
        """Return a current told at the rated voltage, where each battery has 12 V. [A]."""
        return rated_a * (self.rated_at_v / UNIT.rated_at_v.default if self.switching else 1.0)


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
        ledger.note("unit", "none", "default", "the scenario has no [unit] table")
        return NO_UNIT
    ledger.start_from(UNIT.preset)
    take = ledger.take
    events = _events(ledger)
    interval_h = take(UNIT.report_interval_h)
    modes = [_reporting(events, interval_h), *_rungs(ledger, events)]
    cutoff_v = take(UNIT.cutoff_v)
    if cutoff_v is not None:
        resume_v = _resume_v(ledger, cutoff_v)
        off = UnitMode(
            name="switched off",
            current_a=take(UNIT.off_a),
            enter_below_v=cutoff_v,
            leave_above_v=resume_v,
        )
        modes.append(off)
    _check_voltages(scenario.where, modes)
    peak_a = take(UNIT.peak_a)
    switching = take(UNIT.supply) == "switching"
    rated_at_v = take(UNIT.rated_at_v)
    once_ah = ah_from_as(take(UNIT.self_test_charge_as))
    once_ah += take(UNIT.backup_charge_a) * take(UNIT.backup_charge_h)
    given_draw = any(
        scenario.get(said) is not None
        for said in (UNIT.sleep_a, UNIT.report_charge_as, UNIT.report)
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


def _events(ledger: Ledger) -> Events:
    """Return sleep, reports and heartbeats of a scenario's unit."""
    scenario = ledger.scenario
    take = ledger.take
    sleep_a = take(UNIT.sleep_a)
    listening = take(UNIT.listening)
    listening_a = take(UNIT.listening_a)
    if listening == "none" and listening_a > 0:
        raise ScenarioError(
            f"{scenario.where}: unit.listening_a is given but unit.listening is none; "
            "say paging, edrx or psm"
        )
    coverage = take(UNIT.coverage)
    own, own_as = scenario.get(UNIT.report), scenario.get(UNIT.report_charge_as)
    if own is not None and own_as is not None:
        raise ScenarioError(
            f"{scenario.where}: unit has both report_charge_as and report; keep one of them"
        )
    phases, fixed_as = own, 0.0
    if own is None and own_as is None:
        phases = ledger.preset_value(UNIT.report)
    if phases is None:
        fixed_as = float(take(UNIT.report_charge_as))
    else:
        origin = "preset" if own is None else "given"
        ledger.note(UNIT.report, dict(phases), origin)
        phases = phases_of(ledger, phases)
    return Events(
        where=scenario.where,
        idle_a=sleep_a + listening_a,
        coverage=coverage,
        phases=phases,
        fixed_as=fixed_as,
        beat_h=take(UNIT.heartbeat_interval_h),
        beat_as=take(UNIT.heartbeat_charge_as),
    )


def _reporting(
    events: Events,
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


def _rungs(ledger: Ledger, events: Events) -> list[UnitMode]:
    """Return the modes of a voltage ladder, highest voltage first."""
    own = ledger.scenario.get(UNIT.ladder)
    ladder = ledger.preset_value(UNIT.ladder) if own is None else own
    rungs = []
    for rung in sorted(ladder or [], key=lambda entry: -entry["below_v"]):
        below_v = rung["below_v"]
        resume_v = rung.get("resume_v", below_v + _LADDER_HYSTERESIS_V)
        rungs.append(_reporting(events, rung["report_interval_h"], below_v, resume_v))
        ledger.note(UNIT.ladder, dict(rung), "given" if own else "preset")
        if LADDER.resume_v.key not in rung:
            ledger.note(LADDER.resume_v, resume_v, "default", LADDER.resume_v.source)
    return rungs


def _resume_v(ledger: Ledger, cutoff_v: float) -> float:
    """Return the voltage at which a unit switched off comes back. [V].

    A preset's resume voltage belongs to its own cut-off and is not used with another.
    """
    usual_v = cutoff_v + _CUTOFF_HYSTERESIS_V
    own_cutoff = ledger.scenario.get(UNIT.cutoff_v) is not None
    if own_cutoff and ledger.scenario.get(UNIT.resume_v) is None:
        ledger.note(UNIT.resume_v, usual_v, "default", UNIT.resume_v.source)
        return usual_v
    return float(ledger.take(UNIT.resume_v, usual_v))


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
