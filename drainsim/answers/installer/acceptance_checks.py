"""The checks of a finished job that need no simulation."""

from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from drainsim.answers.installer.circuit.circuit_numbers import (
    PEAK_A,
    SENSE_MINIMUM_V,
    circuit_numbers,
    supply_needs,
)
from drainsim.answers.installer.circuit.circuit_rules import LIVE_V, ZERO_V, constant_power
from drainsim.answers.installer.circuit.circuit_verdict import ACCEPTED, REFUSED, RoleVerdict
from drainsim.answers.installer.circuit.safety_words import safety_judgement
from drainsim.answers.installer.circuit.sense_rules import ignition_sense
from drainsim.language import Celsius, joined, message
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
from drainsim.vehicle.keys.parameter import Keys

PASS, FAIL, CANNOT_TELL = "pass", "fail", "cannot tell"
_CONSTANT_MIN: Final = 60.0
# First start-up: common practice, no source.
CONNECTION_MIN: Final = 10.0
OPEN_SKY_MIN: Final = 20.0
# What to do after a FAIL: common practice, no source.
_MOVE_SUPPLY: Final = message(
    "move the supply to another point: drainsim circuits ranks those you read; the battery with a "
    "fuse of its own is always one"
)
_TAPPED_SAFETY: Final = message(
    "do not touch it again and do not use the vehicle: have a workshop trained for that system put "
    "it back and check it"
)
_MOVE_SENSE: Final = message(
    "move the sense wire to a circuit that follows the key, and read it again"
)


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
        return {**asdict(self), "to_do": list(self.to_do)}


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
        found.append(_circuit_check(message("circuit for constant power"), verdict, _MOVE_SUPPLY))
    if record.sense is not None:
        numbers = circuit_numbers(record.sense, needs, drop_limit_v=DROP_SHARE * record.system_v)
        found.append(
            _circuit_check(
                message("circuit for ignition sense"),
                ignition_sense(record.sense, needs, numbers),
                _MOVE_SENSE,
            )
        )
    return tuple(found)


def _circuit_check(name: str, verdict: RoleVerdict, remedy: str) -> JobCheck:
    told = {ACCEPTED: PASS, REFUSED: FAIL}.get(verdict.verdict, CANNOT_TELL)
    effects = {PASS: "consequence", FAIL: "refuses", CANNOT_TELL: "unknown"}
    reasons = [one.text for one in verdict.reasons if one.effect == effects[told]]
    text = joined("; ", reasons) if reasons else message("nothing speaks against it")
    safety = safety_judgement(verdict.circuit).refused
    return JobCheck(
        name=name,
        verdict=told,
        text=message("{what}: {text}", what=verdict.circuit.name, text=text),
        would_tell=verdict.deciding_reading or "",
        to_do=() if told != FAIL else (_TAPPED_SAFETY, remedy) if safety else (remedy,),
    )


def _failed(
    name: str, text: str, *to_do: str, value: float | None = None, unit: str = ""
) -> JobCheck:
    return JobCheck(name=name, verdict=FAIL, text=text, value=value, unit=unit, to_do=to_do)


def _open(name: str, text: str, would_tell: str, value: float | None = None) -> JobCheck:
    unit = "" if value is None else "V"
    return JobCheck(
        name=name, verdict=CANNOT_TELL, text=text, value=value, unit=unit, would_tell=would_tell
    )


def _passed(name: str, text: str, value: float | None = None, unit: str = "") -> JobCheck:
    return JobCheck(name=name, verdict=PASS, text=text, value=value, unit=unit)


def connection_check(record: JobRecord) -> JobCheck:
    """Return whether the own fuse protects the wire and carries the peak."""
    name = message("fuse and wire")
    fuse = record.number(CONNECTION.fuse_a)
    section = record.number(CONNECTION.wire_mm2)
    if fuse is None or section is None:
        return _open(
            name,
            message("fuse or wire section is not given"),
            message("the rating of its own fuse and the section of its wire"),
        )
    peak = record.number(BUDGET.peak_a) or PEAK_A
    carries = float(wire_ampacity_a(section))
    if fuse > carries:
        return _failed(
            name,
            message(
                "a {fuse:g} A fuse does not protect {section:g} mm², which carries {carries:.3g} "
                "A: the cable can burn",
                fuse=fuse,
                section=section,
                carries=carries,
            ),
            message(
                "pull that fuse now; fit one the wire can carry, or a thicker wire, before the "
                "vehicle is used"
            ),
            value=fuse,
            unit="A",
        )
    if fuse < FUSE_OVER_PEAK * peak:
        return _failed(
            name,
            message(
                "a {fuse:g} A fuse is less than {times:g} times the peak of {peak:g} A",
                fuse=fuse,
                times=FUSE_OVER_PEAK,
                peak=peak,
            ),
            message(
                "fit a fuse of at least {fuse:.2g} A that the wire can carry",
                fuse=FUSE_OVER_PEAK * peak,
            ),
            value=fuse,
            unit="A",
        )
    words = message(
        "{fuse:g} A protects {section:g} mm² ({carries:.3g} A)",
        fuse=fuse,
        section=section,
        carries=carries,
    )
    length = record.number(CONNECTION.length_m)
    if length is not None:
        ohm = run_ohm(section, length_m=length, temperature_c=HOT_C[-1], extra_ohm=fuse_ohm(fuse))
        drop, limit = peak * ohm, DROP_SHARE * record.system_v
        words = message(
            "{protects}; {drop:.3f} V lost at peak and {hot}, limit {limit:.2f} V",
            protects=words,
            drop=drop,
            hot=Celsius(HOT_C[-1]),
            limit=limit,
        )
        if drop > limit:
            to_do = message(
                "take a thicker or shorter supply wire, then read the voltage at the unit"
            )
            return _failed(name, words, to_do, value=drop, unit="V")
    return _passed(name, words, fuse, "A")


def constant_check(record: JobRecord) -> JobCheck:
    """Return whether constant power is still there an hour after key off."""
    name = message("constant power after 60 min")
    volts = record.number(CONSTANT.voltage_v)
    minutes = record.number(CONSTANT.minutes_after_key_off)
    if volts is None:
        return _open(
            name,
            message("it was not read"),
            message("the voltage at the unit an hour after locking"),
        )
    if volts < LIVE_V * record.system_v / 12.0:
        return _failed(
            name,
            message("{volts:g} V: the unit has lost its supply", volts=volts),
            message("look at its fuse, its plug and its ground with a test lamp on them"),
            message("if the circuit itself goes dead: {remedy}", remedy=_MOVE_SUPPLY),
            value=volts,
            unit="V",
        )
    if minutes is None or minutes < _CONSTANT_MIN:
        when = (
            message("when is not said")
            if minutes is None
            else message("after {minutes:g} min only", minutes=minutes)
        )
        text = message(
            "{volts:g} V, {when}: retained circuits hold for up to an hour", volts=volts, when=when
        )
        return _open(name, text, message("the same reading 60 min after locking"), volts)
    text = message("{volts:g} V after {minutes:g} min", volts=volts, minutes=minutes)
    return _passed(name, text, volts, "V")


def sense_check(record: JobRecord) -> JobCheck:
    """Return whether the sense wire is at 0 V key off and holds with the key on."""
    name = message("sense wire")
    scale = record.system_v / 12.0
    off, on = record.number(SENSE.key_off_v), record.number(SENSE.key_on_v)
    cranking = record.number(SENSE.cranking_v)
    if off is None or on is None:
        lacking = message("key off") if off is None else message("key on")
        return _open(
            name,
            message("its voltage at {key} was not read", key=lacking),
            message("the voltage of the sense wire at {key}", key=lacking),
        )
    if off > ZERO_V * scale:
        return _failed(
            name,
            message("{volts:g} V with the key off instead of 0 V", volts=off),
            message("read it again with a test lamp on it: a floating wire then falls to 0 V"),
            _MOVE_SENSE,
            value=off,
            unit="V",
        )
    if on < LIVE_V * scale:
        look = message("look at the tap, the sense fuse and the ground")
        text = message("only {volts:g} V with the key on", volts=on)
        return _failed(name, text, look, _MOVE_SENSE, value=on, unit="V")
    if cranking is None:
        words = message(
            "{off:g} V key off, {on:g} V key on; while cranking not read", off=off, on=on
        )
    elif cranking < SENSE_MINIMUM_V[record.system_v]:
        words = message(
            "{off:g} V key off, {on:g} V key on; falls to {cranking:g} V while cranking: starts "
            "can split trips",
            off=off,
            on=on,
            cranking=cranking,
        )
    else:
        words = message(
            "{off:g} V key off, {on:g} V key on, {cranking:g} V while cranking",
            off=off,
            on=on,
            cranking=cranking,
        )
    return _passed(name, words, on, "V")


def first_start_check(record: JobRecord) -> JobCheck:
    """Return whether the unit came up in time, in the open."""
    name = message("first start-up outdoors")
    rule = message(
        "allow {connection:g} min for a first connection and {position:g} min in the open (common "
        "practice, no source)",
        connection=CONNECTION_MIN,
        position=OPEN_SKY_MIN,
    )
    connection = record.number(STARTUP.connection_min)
    position = record.number(STARTUP.position_min)
    if record.get(STARTUP.outdoors) != YES:
        text = message("not done in the open; {rule}", rule=rule)
        return _open(name, text, message("the start-up again under open sky"))
    if connection is None or position is None:
        text = message("no time to the first connection or position; {rule}", rule=rule)
        return _open(name, text, message("first_start.connection_min and position_min"))
    words = message(
        "connected after {connection:g} min, position after {position:g} min; {rule}",
        connection=connection,
        position=position,
        rule=rule,
    )
    slower = max(connection, position)
    if connection <= CONNECTION_MIN and position <= OPEN_SKY_MIN:
        return _passed(name, words, slower, "min")
    return _failed(
        name,
        words,
        message("start it again under open sky, away from metal and other aerials"),
        message("look at the aerial's plug, place and side, and whether the unit is registered"),
        value=slower,
        unit="min",
    )


def mounting_check(record: JobRecord) -> JobCheck:
    """Return whether mounting and routing are as they should be."""
    return _questions(record, message("mounting and routing"), MOUNTING, fails=True)


def caution_check(record: JobRecord) -> JobCheck:
    """Return whether the cautions were acknowledged."""
    return _questions(record, message("cautions acknowledged"), CAUTIONS, fails=False)


def _questions(record: JobRecord, name: str, questions: type[Keys], *, fails: bool) -> JobCheck:
    said = [(record.get(each), message(each.meaning)) for each in questions.TABLE.fields]
    wrong = [text for answer, text in said if answer == NO]
    left = [*wrong, *(text for answer, text in said if answer not in {YES, NO})]
    if wrong and fails:
        return _failed(
            name,
            message("not so: {what}", what=joined("; ", wrong)),
            *(message("put right: {what}", what=one) for one in wrong),
        )
    if left:
        text = message("{left} of {all} not answered with yes", left=len(left), all=len(said))
        return _open(name, text, joined("; ", left))
    return _passed(name, message("all {number} answered with yes", number=len(said)))
