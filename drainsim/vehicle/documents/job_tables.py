"""The tables of a job record: every key with its unit, its bounds and its meaning."""

from typing import Final

from drainsim.vehicle.parameter import Parameter, Table

YES, NO = "yes", "no"
_ANSWERS: Final = dict.fromkeys((YES, NO, "not checked"), "")


def _number(key: str, unit: str, low: float, high: float, meaning: str) -> Parameter:
    return Parameter(key, kind="number", unit=unit, low=low, high=high, meaning=meaning)


def text(key: str, meaning: str) -> Parameter:
    """Return a field of free text."""
    return Parameter(key, kind="text", meaning=meaning)


def _question(key: str, meaning: str) -> Parameter:
    return Parameter(key, kind="choice", choices=_ANSWERS, meaning=meaning)


_READING: Final = (
    _number("settled_a", "A", -1, 50, "current of the sleeping vehicle"),
    _number("uncertainty_a", "A", 0, 50, "its uncertainty; from the meter otherwise"),
    _number("mean_a", "A", -1, 50, "mean over whole wake-up periods, from a log"),
    _number("minutes_after_key_off", "min", 0, 100_000, "when it was read"),
    text("log", "CSV log beside the record, instead of the values above"),
)
MOUNTING: Final = {
    "view_of_sky": "the unit or its antenna sees the sky, no metal above it",
    "fixed_firmly": "fixed so that it cannot swing, rattle or fall into pedals",
    "dry_and_cool": "away from heat, water and moving parts",
    "clear_of_restraints": "unit and wires clear of restraint modules and their paths",
    "wires_protected": "wires in sleeve or grommet where they pass metal, tied, not pinched",
    "fuse_fitted_last": "own fuse close to the source, fitted last",
    "vehicle_normal": "no warning lamps; doors, lights and locks work as before",
}
CAUTIONS: Final = {
    "restraint_circuits": "no restraint, braking, steering or emergency wiring was touched",
    "battery_gas_and_acid": "batteries give off explosive gas and hold acid",
    "fuse_before_wire": "every added wire has its fuse close to the source",
    "series_meter": "a meter in series is never opened while the engine runs",
    "high_voltage": "orange cables are high voltage and were left alone",
}
_TABLES: Final = (
    Table(
        name="job",
        meaning="Which job; no customer data is needed",
        fields=(
            text("label", "vehicle or job, in the installer's own words"),
            text("date", "day of the job"),
            _number("system_v", "V", 12, 24, "12 or 24"),
            _number("days_needed", "days", 0, 730, "how long it must be able to stand"),
        ),
    ),
    Table(
        name="unit",
        meaning="What the unit may draw, from its maker",
        fields=(
            _number("sleep_a", "A", 0, 5, "budget of its sleep current, listening included"),
            _number("mean_a", "A", 0, 5, "budget of its mean current, reports included"),
            _number("peak_a", "A", 0.001, 20, "highest current"),
            _number("minimum_v", "V", 3, 36, "lowest voltage it works at"),
            _number("tolerance_share", "", 0, 2, "how far above budget still passes, as a share"),
            _number("report_interval_min", "min", 0.1, 100_000, "time between reports"),
        ),
    ),
    Table(
        name="meter",
        meaning="What the readings were taken with",
        fields=(
            _number("resolution_a", "A", 0, 1, "its smallest step on the range used"),
            _number("accuracy_percent", "%", 0, 50, "accuracy as a share of the reading"),
            _number("counts", "", 0, 1000, "further steps of its accuracy"),
            text("kind", "meter in series, clamp, fuse drop"),
        ),
    ),
    Table(name="before", meaning="Vehicle without the unit", fields=_READING),
    Table(name="after", meaning="Vehicle with the unit", fields=_READING),
    Table(
        name="connection",
        meaning="What was fitted",
        fields=(
            _number("fuse_a", "A", 0.1, 100, "own fuse"),
            _number("wire_mm2", "mm²", 0.05, 120, "section of the supply wire"),
            _number("length_m", "m", 0, 50, "its length, one way"),
        ),
    ),
    Table(
        name="sense_check",
        meaning="Sense wire at the unit",
        fields=(
            _number("key_off_v", "V", -1, 60, "key off"),
            _number("key_on_v", "V", -1, 60, "key on"),
            _number("cranking_v", "V", -1, 60, "lowest while cranking"),
        ),
    ),
    Table(
        name="constant_check",
        meaning="Constant power at the unit, vehicle locked",
        fields=(
            _number("voltage_v", "V", -1, 60, "voltage"),
            _number("minutes_after_key_off", "min", 0, 100_000, "when it was read"),
        ),
    ),
    Table(
        name="first_start",
        meaning="First start-up of the unit",
        fields=(
            _question("outdoors", "done in the open"),
            _number("connection_min", "min", 0, 10_000, "time to the first connection"),
            _number("position_min", "min", 0, 10_000, "time to the first position"),
        ),
    ),
    Table(
        name="mounting",
        meaning="Mounting and routing",
        fields=tuple(_question(key, meaning) for key, meaning in MOUNTING.items()),
    ),
    Table(
        name="cautions",
        meaning="Cautions acknowledged",
        fields=tuple(_question(key, meaning) for key, meaning in CAUTIONS.items()),
    ),
)
PLAIN: Final = {table.name: table for table in _TABLES}
