"""Which circuit feeds the unit, which one tells it that the key is on?"""

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from drainsim import __version__
from drainsim.answers.installer.circuit.circuit_numbers import (
    PEAK_A,
    CircuitNumbers,
    SupplyNeeds,
    circuit_numbers,
    refuse_too_high,
    supply_needs,
)
from drainsim.answers.installer.circuit.circuit_rules import SAFETY_CAUTION, constant_power
from drainsim.answers.installer.circuit.circuit_verdict import (
    ACCEPTED,
    CANNOT_TELL,
    REFUSED,
    RoleVerdict,
)
from drainsim.answers.installer.circuit.safety_words import safety_judgement
from drainsim.answers.installer.circuit.sense_rules import ignition_sense
from drainsim.answers.standing.park import park
from drainsim.errors import RecordError
from drainsim.files.circuits import VOLTAGES, Circuit
from drainsim.language import message
from drainsim.physics.supply_point import DROP_SHARE, STARTING_PROFILES, seconds_below_s
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.compatibility import batteries_seen
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict
from drainsim.vehicle.unit import Unit

CAUTIONS: Final = (
    SAFETY_CAUTION,
    message(
        "fuse before wire: the fuse goes close to the source and in last; an oversized fuse lets "
        "the cable burn"
    ),
    message(
        "lead-acid batteries give off explosive gas and hold acid: air, no flame or spark, eye "
        "protection, no metal tools or jewellery across the terminals"
    ),
    message(
        "hybrid and electric vehicles: stay with the 12 V side; orange cables are high voltage and "
        "only for trained people; cutting the 12 V lead does not make them dead"
    ),
    message(
        "take supply only from points the vehicle maker names; maker's instructions, local codes "
        "and licensed practice come before this answer"
    ),
)
_SYSTEMS: Final = (12, 24)
_SWITCH_V: Final = 17.0  # above it no 12 V system reads: long-term overvoltage is 18 V
_HIGHEST_PEAK_A: Final = 20.0
_ORDER: Final = {ACCEPTED: 0, CANNOT_TELL: 1, REFUSED: 2}
_SENSE_ORDER: Final = {"ignition": 0, "accessory": 1}
_DEFAULT_SCENARIO: Final = {"battery": {}, "unit": {"preset": "hourly"}}


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelRide:
    """Whether the unit rides through one severity of the starting profile."""

    level: str
    lowest_v: float
    hold_v: float
    hold_s: float
    below_minimum_s: float

    def as_dict(self) -> dict[str, Any]:
        """Return the level as JSON-ready data."""
        return {**asdict(self), "rides_through": self.below_minimum_s == 0.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitsAnswer:
    """Both choices ranked, with every reason."""

    needs: SupplyNeeds
    constant_power: tuple[RoleVerdict, ...]  # best first
    ignition_sense: tuple[RoleVerdict, ...]
    numbers: dict[str, CircuitNumbers]
    starting_profile: tuple[LevelRide, ...]
    days_to_no_start: float | None
    horizon_days: int
    days_of: str  # whose days
    warnings: tuple[str, ...]

    @property
    def chosen_power(self) -> RoleVerdict | None:
        """Return the best accepted circuit for constant power."""
        return next((one for one in self.constant_power if one.verdict == ACCEPTED), None)

    @property
    def chosen_sense(self) -> RoleVerdict | None:
        """Return the best accepted circuit for ignition sense.

        It is never the one that feeds: that one is live with the key off, this one dead.
        """
        return next((one for one in self.ignition_sense if one.verdict == ACCEPTED), None)

    def as_dict(self) -> dict[str, Any]:
        """Return the answer as JSON-ready data."""
        power, sense = self.chosen_power, self.chosen_sense
        return {
            "drainsim_version": __version__,
            "system_v": self.needs.system_v,
            "unit": {
                "peak_a": self.needs.peak_a,
                "minimum_v": self.needs.minimum_v,
                "minimum_source": self.needs.minimum_source,
                "sense_minimum_v": self.needs.sense_minimum_v,
            },
            "choice": {
                "constant_power": power.circuit.name if power else None,
                "ignition_sense": sense.circuit.name if sense else None,
            },
            "constant_power": [
                {**one.as_dict(), "numbers": self.numbers[one.circuit.name].as_dict()}
                for one in self.constant_power
            ],
            "ignition_sense": [one.as_dict() for one in self.ignition_sense],
            "starting_profile": [level.as_dict() for level in self.starting_profile],
            "days_to_no_start": self.days_to_no_start,
            "horizon_days": self.horizon_days,
            "days_of": self.days_of,
            "cautions": list(CAUTIONS),
            "warnings": list(self.warnings),
        }


def _system_of(circuits: Sequence[Circuit]) -> int:
    """Return 12 or 24 from the readings; 12 where there are none."""
    readings = [
        value
        for circuit in circuits
        for key in VOLTAGES
        if (value := getattr(circuit, key)) is not None
    ]
    return 24 if readings and max(readings) > _SWITCH_V else 12


def _needs(
    unit: Unit,
    system_v: int,
    *,
    rated_at_v: float,
    minimum_v: float | None,
    sense_minimum_v: float | None,
    peak_a: float | None,
) -> SupplyNeeds:
    """Return what the unit needs of its supply: the figures given, its own, or usual ones."""
    for name, value, high, shown in (
        ("unit minimum", minimum_v, float(system_v), "V"),
        ("sense minimum", sense_minimum_v, float(system_v), "V"),
        ("peak", peak_a, _HIGHEST_PEAK_A, "A"),
    ):
        if value is not None and not 0.0 < value <= high:
            raise RecordError(
                f"{name} {value:g} {shown} must be above 0 and at most {high:g} {shown}"
            )
    own_peak_a = unit.peak_a if unit.fitted and unit.peak_a > 0.0 else PEAK_A
    return supply_needs(
        system_v=system_v,
        peak_a=peak_a or own_peak_a,
        rated_at_v=rated_at_v if peak_a is None and unit.fitted else float(system_v),
        switching=unit.switching if unit.fitted else True,
        minimum_v=minimum_v,
        sense_minimum_v=sense_minimum_v,
    )


def choose_circuits(
    circuits: Sequence[Circuit],
    *,
    scenario: Scenario | None = None,
    system_v: int | None = None,
    minimum_v: float | None = None,
    sense_minimum_v: float | None = None,
    peak_a: float | None = None,
) -> CircuitsAnswer:
    """Return the ranked choices for constant power and ignition sense.

    Parameters
    ----------
    circuits : sequence of Circuit
    scenario : Scenario, optional
        Vehicle and unit for the days until no-start; an average one otherwise.
    system_v : {12, 24}, optional
        From a scenario of 24 V or the readings otherwise. [V]
    minimum_v, sense_minimum_v, peak_a : float, optional
        The unit's own figures. [V, V, A]

    Raises
    ------
    RecordError
        If a value is out of range or the table mixes 12 and 24 V.
    """
    given = scenario is not None
    used = scenario or scenario_from_dict(_DEFAULT_SCENARIO, where="average vehicle")
    told = system_v or (24 if used.get(BATTERY.system) == "24V" else None)
    system = told or _system_of(circuits)
    if system not in _SYSTEMS:
        raise RecordError(f"system {system:g} V: use 12 or 24")
    _refuse_mixture(circuits, system, given=told is not None)
    case = resolve(used)
    needs = _needs(
        case.unit,
        system,
        rated_at_v=case.unit.rated_at_v * batteries_seen(used.tables),
        minimum_v=minimum_v,
        sense_minimum_v=sense_minimum_v,
        peak_a=peak_a,
    )
    candidates, added = _with_direct(circuits)
    limit = DROP_SHARE * system
    numbers = {one.name: circuit_numbers(one, needs, drop_limit_v=limit) for one in candidates}
    days = park(case).days_to_no_start.p50
    awake = _days_awake(candidates, used)
    power = [
        constant_power(
            one,
            needs,
            numbers[one.name],
            days=(days, awake.get(one.wakes_module_a or 0.0, days), case.horizon_days),
        )
        for one in candidates
    ]
    sense = [ignition_sense(one, needs, numbers[one.name]) for one in candidates]
    warnings = list(_warnings(power, sense, system))
    if added:
        warnings.append(
            message(
                "{name} was not in the list; a direct connection with its own fuse is always a "
                "candidate, so it was added without readings",
                name=repr(added),
            )
        )
    return CircuitsAnswer(
        needs=needs,
        constant_power=tuple(sorted(power, key=lambda one: _power_key(one, numbers, added))),
        ignition_sense=tuple(sorted(sense, key=_sense_key)),
        numbers=numbers,
        starting_profile=tuple(
            LevelRide(
                level=level.name,
                lowest_v=level.lowest_v,
                hold_v=level.hold_v,
                hold_s=level.hold_s,
                below_minimum_s=seconds_below_s(level, needs.minimum_v),
            )
            for level in STARTING_PROFILES[system]
        ),
        days_to_no_start=days,
        horizon_days=case.horizon_days,
        days_of=used.where
        if given
        else message("an average 12 V car with an hourly unit; no scenario given"),
        warnings=tuple(warnings),
    )


def _refuse_mixture(circuits: Sequence[Circuit], system: int, *, given: bool) -> None:
    for circuit in circuits:
        for key in VOLTAGES:
            value = getattr(circuit, key)
            what = f"circuit {circuit.name!r}, column {key}:"
            refuse_too_high(value, system, what=what, say_24="say --system 24")
            mixed = not given and system == 24 and key in {"on_v", "off_v"}
            if mixed and value is not None and 9.0 < value < _SWITCH_V:
                raise RecordError(
                    f"{what} {value:g} V beside readings of 24 V: keep 12 V and 24 V circuits in "
                    "files of their own"
                )


def _with_direct(circuits: Sequence[Circuit]) -> tuple[list[Circuit], str | None]:
    """Add a direct battery connection where the list has none."""
    if any(circuit.kind == "battery_direct" for circuit in circuits):
        return list(circuits), None
    name = "battery, own fuse"
    while any(circuit.name == name for circuit in circuits):
        name += " (added)"
    return [*circuits, Circuit(name=name, kind="battery_direct", wakes_module_a=0.0)], name


def _days_awake(circuits: Sequence[Circuit], scenario: Scenario) -> dict[float, float | None]:
    """Return days until no-start for every draw of a control unit kept awake."""
    found: dict[float, float | None] = {}
    for circuit in circuits:
        awake_a = circuit.wakes_module_a or 0.0
        if awake_a > 0.0 and awake_a not in found and circuit.kind != "safety":
            tables = dict(scenario.tables)
            load = {"name": "control unit kept awake", "current_a": awake_a}
            tables["other"] = [*tables.get("other", []), load]
            more = scenario_from_dict(tables, where=scenario.where, folder=scenario.folder)
            found[awake_a] = park(resolve(more)).days_to_no_start.p50
    return found


def _power_key(
    one: RoleVerdict, numbers: dict[str, CircuitNumbers], added: str | None
) -> tuple[float, ...]:
    figures = numbers[one.circuit.name]
    return (
        _ORDER[one.verdict],
        one.circuit.name == added,
        bool(safety_judgement(one.circuit).why),  # to be looked up first: where nothing else serves
        len(one.consequences),
        one.days_lost or 0.0,
        figures.drop_hot_v if figures.drop_hot_v is not None else 1e3,
        -(figures.spare_a or 0.0),
    )


def _sense_key(one: RoleVerdict) -> tuple[float, ...]:
    return (
        _ORDER[one.verdict],
        bool(safety_judgement(one.circuit).why),
        len(one.consequences),
        _SENSE_ORDER.get(one.circuit.kind, 2),
        -(one.circuit.cranking_v or 0.0),
    )


def _warnings(
    power: Sequence[RoleVerdict], sense: Sequence[RoleVerdict], system: int
) -> Iterator[str]:
    for verdicts, what in (
        (power, message("constant power")),
        (sense, message("ignition sense")),
    ):
        if any(one.verdict == ACCEPTED for one in verdicts):
            continue
        open_ = [one for one in verdicts if one.verdict == CANNOT_TELL]
        yield (
            message(
                "no circuit is accepted for {purpose}; read {reading} of {name} next",
                purpose=what,
                reading=open_[0].deciding_reading or "",
                name=repr(open_[0].circuit.name),
            )
            if open_
            else message(
                "no circuit is accepted for {purpose}; look for another point the vehicle maker "
                "names",
                purpose=what,
            )
        )
    yield message(
        "keep constant power and ignition sense on circuits of their own: tied together they "
        "defeat restart, self-test and trip reports"
    )
    if system == 24:
        yield message(
            "24 V: never feed a 12 V unit from one of the two batteries; the days are "
            "calculated for one battery of the pair, which carries the same current"
        )
