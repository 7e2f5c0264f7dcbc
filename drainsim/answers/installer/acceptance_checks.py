"""The checks of a finished job that need no simulation."""

from dataclasses import dataclass, replace
from typing import Any, Final

from drainsim.answers.installer.circuit_numbers import (
    PEAK_A,
    SENSE_MINIMUM_V,
    circuit_numbers,
    supply_needs,
)
from drainsim.answers.installer.circuit_rules import LIVE_V, ZERO_V, constant_power
from drainsim.answers.installer.circuit_verdict import ACCEPTED, REFUSED, RoleVerdict
from drainsim.answers.installer.safety_words import safety_judgement
from drainsim.answers.installer.sense_rules import ignition_sense
from drainsim.physics.supply_point import (
    DROP_SHARE,
    FUSE_OVER_PEAK,
    HOT_C,
    fuse_ohm,
    run_ohm,
    wire_ampacity_a,
)
from drainsim.vehicle.documents.job_record import JobRecord
from drainsim.vehicle.documents.job_tables import (
    BUDGET,
    CAUTIONS,
    CONNECTION,
    CONSTANT,
    MOUNTING,
    NO,
    SENSE,
    STARTUP,
    YES,
)
from drainsim.vehicle.parameter import Keys

PASS, FAIL, CANNOT_TELL = "pass", "fail", "cannot tell"
_CONSTANT_MIN: Final = 60.0
# First start-up: common practice, no source.
CONNECTION_MIN: Final = 10.0
OPEN_SKY_MIN: Final = 20.0
# What to do after a FAIL: common practice, no source.
_MOVE_SUPPLY: Final = (
    "move the supply to another point: drainsim circuits ranks those you read; the battery with a "
    "fuse of its own is always one"
)
_TAPPED_SAFETY: Final = (
    "do not touch it again and do not use the vehicle: have a workshop trained for that system put "
    "it back and check it"
)
_MOVE_SENSE: Final = "move the sense wire to a circuit that follows the key, and read it again"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobCheck:
    """One check: pass, fail or cannot tell, why, what would tell, and after a FAIL what to do."""

    name: str
    verdict: str
    text: str
    value: float | None = None
    unit: str = ""
    would_tell: str = ""
    to_do: tuple[str, ...] = ()  # after a FAIL, in this order

    def as_dict(self) -> dict[str, Any]:
        """Return the check as JSON-ready data."""
        return {
            "name": self.name,
            "verdict": self.verdict,
            "text": self.text,
            "value": self.value,
            "unit": self.unit,
            "would_tell": self.would_tell,
            "to_do": list(self.to_do),
        }


def circuit_checks(record: JobRecord) -> tuple[JobCheck, ...]:
    """Return whether the chosen circuits are fit for their purpose."""
    needs = supply_needs(
        system_v=record.system_v,
        peak_a=record.number(BUDGET.peak_a) or PEAK_A,
        rated_at_v=float(record.system_v),
        minimum_v=record.number(BUDGET.minimum_v),
    )
    found = []
    if record.power is not None:
        numbers = circuit_numbers(record.power, needs, drop_limit_v=DROP_SHARE * record.system_v)
        # What the circuit keeps awake is in the measured draw.
        power = replace(record.power, wakes_module_a=0.0)
        verdict = constant_power(power, needs, numbers, days=(None, None, 0))
        found.append(_circuit_check("circuit for constant power", verdict, _MOVE_SUPPLY))
    if record.sense is not None:
        numbers = circuit_numbers(record.sense, needs, drop_limit_v=DROP_SHARE * record.system_v)
        found.append(
            _circuit_check(
                "circuit for ignition sense",
                ignition_sense(record.sense, needs, numbers),
                _MOVE_SENSE,
            )
        )
    return tuple(found)


def _circuit_check(name: str, verdict: RoleVerdict, remedy: str) -> JobCheck:
    told = {ACCEPTED: PASS, REFUSED: FAIL}.get(verdict.verdict, CANNOT_TELL)
    effects = {PASS: "consequence", FAIL: "refuses", CANNOT_TELL: "unknown"}
    reasons = [one.text for one in verdict.reasons if one.effect == effects[told]]
    text = "; ".join(reasons) or "nothing speaks against it"
    safety = safety_judgement(verdict.circuit).refused
    return JobCheck(
        name=name,
        verdict=told,
        text=f"{verdict.circuit.name}: {text}",
        would_tell=verdict.deciding_reading or "",
        to_do=() if told != FAIL else (_TAPPED_SAFETY, remedy) if safety else (remedy,),
    )


def connection_check(record: JobRecord) -> JobCheck:
    """Return whether the own fuse protects the wire and carries the peak."""
    name = "fuse and wire"
    fuse = record.number(CONNECTION.fuse_a)
    section = record.number(CONNECTION.wire_mm2)
    if fuse is None or section is None:
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text="fuse or wire section is not given",
            would_tell="the rating of its own fuse and the section of its wire",
        )
    peak = record.number(BUDGET.peak_a) or PEAK_A
    carries = float(wire_ampacity_a(section))
    if fuse > carries:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text=f"a {fuse:g} A fuse does not protect {section:g} mm², which carries "
            f"{carries:.3g} A: the cable can burn",
            value=fuse,
            unit="A",
            to_do=(
                "pull that fuse now; fit one the wire can carry, or a thicker wire, before the "
                "vehicle is used",
            ),
        )
    if fuse < FUSE_OVER_PEAK * peak:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text=f"a {fuse:g} A fuse is less than {FUSE_OVER_PEAK:g} times the peak of {peak:g} A",
            value=fuse,
            unit="A",
            to_do=(
                f"fit a fuse of at least {FUSE_OVER_PEAK * peak:.2g} A that the wire can carry",
            ),
        )
    words = f"{fuse:g} A protects {section:g} mm² ({carries:.3g} A)"
    length = record.number(CONNECTION.length_m)
    if length is not None:
        ohm = run_ohm(section, length_m=length, temperature_c=HOT_C[-1], extra_ohm=fuse_ohm(fuse))
        drop, limit = peak * ohm, DROP_SHARE * record.system_v
        words += f"; {drop:.3f} V lost at peak and 85 °C, limit {limit:.2f} V"
        if drop > limit:
            return JobCheck(
                name=name,
                verdict=FAIL,
                text=words,
                value=drop,
                unit="V",
                to_do=("take a thicker or shorter supply wire, then read the voltage at the unit",),
            )
    return JobCheck(name=name, verdict=PASS, text=words, value=fuse, unit="A")


def constant_check(record: JobRecord) -> JobCheck:
    """Return whether constant power is still there an hour after key off."""
    name = "constant power after 60 min"
    volts = record.number(CONSTANT.voltage_v)
    minutes = record.number(CONSTANT.minutes_after_key_off)
    if volts is None:
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text="it was not read",
            would_tell="the voltage at the unit an hour after locking",
        )
    if volts < LIVE_V * record.system_v / 12.0:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text=f"{volts:g} V: the unit has lost its supply",
            value=volts,
            unit="V",
            to_do=(
                "look at its fuse, its plug and its ground with a test lamp on them",
                f"if the circuit itself goes dead: {_MOVE_SUPPLY}",
            ),
        )
    if minutes is None or minutes < _CONSTANT_MIN:
        when = "when is not said" if minutes is None else f"after {minutes:g} min only"
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text=f"{volts:g} V, {when}: retained circuits hold for up to an hour",
            value=volts,
            unit="V",
            would_tell="the same reading 60 min after locking",
        )
    return JobCheck(
        name=name, verdict=PASS, text=f"{volts:g} V after {minutes:g} min", value=volts, unit="V"
    )


def sense_check(record: JobRecord) -> JobCheck:
    """Return whether the sense wire is at 0 V key off and holds with the key on."""
    name = "sense wire"
    scale = record.system_v / 12.0
    off, on = record.number(SENSE.key_off_v), record.number(SENSE.key_on_v)
    cranking = record.number(SENSE.cranking_v)
    if off is None or on is None:
        lacking = "key off" if off is None else "key on"
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text=f"its voltage at {lacking} was not read",
            would_tell=f"the voltage of the sense wire at {lacking}",
        )
    if off > ZERO_V * scale:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text=f"{off:g} V with the key off instead of 0 V",
            value=off,
            unit="V",
            to_do=(
                "read it again with a test lamp on it: a floating wire then falls to 0 V",
                _MOVE_SENSE,
            ),
        )
    if on < LIVE_V * scale:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text=f"only {on:g} V with the key on",
            value=on,
            unit="V",
            to_do=("look at the tap, the sense fuse and the ground", _MOVE_SENSE),
        )
    words = f"{off:g} V key off, {on:g} V key on"
    if cranking is None:
        words += "; while cranking not read"
    elif cranking < SENSE_MINIMUM_V[record.system_v]:
        words += f"; falls to {cranking:g} V while cranking: starts can split trips"
    else:
        words += f", {cranking:g} V while cranking"
    return JobCheck(name=name, verdict=PASS, text=words, value=on, unit="V")


def first_start_check(record: JobRecord) -> JobCheck:
    """Return whether the unit came up in time, in the open."""
    name = "first start-up outdoors"
    rule = (
        f"allow {CONNECTION_MIN:g} min for a first connection and {OPEN_SKY_MIN:g} min in the open "
        "(common practice, no source)"
    )
    connection = record.number(STARTUP.connection_min)
    position = record.number(STARTUP.position_min)
    if record.get(STARTUP.outdoors) != YES:
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text=f"not done in the open; {rule}",
            would_tell="the start-up again under open sky",
        )
    if connection is None or position is None:
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text=f"no time to the first connection or position; {rule}",
            would_tell="first_start.connection_min and position_min",
        )
    good = connection <= CONNECTION_MIN and position <= OPEN_SKY_MIN
    return JobCheck(
        name=name,
        verdict=PASS if good else FAIL,
        text=f"connected after {connection:g} min, position after {position:g} min; {rule}",
        value=max(connection, position),
        unit="min",
        to_do=()
        if good
        else (
            "start it again under open sky, away from metal and other aerials",
            "look at the aerial's plug, place and side, and whether the unit is registered",
        ),
    )


def mounting_check(record: JobRecord) -> JobCheck:
    """Return whether mounting and routing are as they should be."""
    return _questions(record, "mounting and routing", MOUNTING, fails=True)


def caution_check(record: JobRecord) -> JobCheck:
    """Return whether the cautions were acknowledged."""
    return _questions(record, "cautions acknowledged", CAUTIONS, fails=False)


def _questions(record: JobRecord, name: str, questions: type[Keys], *, fails: bool) -> JobCheck:
    said = [(record.get(each), each.meaning) for each in questions.TABLE.fields]
    wrong = [text for answer, text in said if answer == NO]
    open_ = [text for answer, text in said if answer not in {YES, NO}]
    if wrong and fails:
        return JobCheck(
            name=name,
            verdict=FAIL,
            text="not so: " + "; ".join(wrong),
            to_do=tuple(f"put right: {text}" for text in wrong),
        )
    if wrong or open_:
        left = [*wrong, *open_]
        return JobCheck(
            name=name,
            verdict=CANNOT_TELL,
            text=f"{len(left)} of {len(said)} not answered with yes",
            would_tell="; ".join(left),
        )
    return JobCheck(name=name, verdict=PASS, text=f"all {len(said)} answered with yes")
