"""The tables of a job record: every key with its unit, its bounds and its meaning."""

from typing import Final

from drainsim.vehicle.keys.parameter import Keys, Parameter, choice, number, text

YES, NO = "yes", "no"


def _question(meaning: str) -> Parameter:
    return choice((YES, NO, "not checked"), meaning)


class JOB(Keys, name="job"):
    """Which job; no customer data is needed."""

    label = text("vehicle or job, in the installer's own words")
    date = text("day of the job")
    system_v = number((12, 24, "V"), "12 or 24")
    days_needed = number((0, 730, "days"), "how long it must be able to stand")


class BUDGET(Keys, name="unit"):
    """What the unit may draw, from its maker."""

    sleep_a = number((0, 5, "A"), "budget of its sleep current, listening included")
    mean_a = number((0, 5, "A"), "budget of its mean current, reports included")
    peak_a = number((0.001, 20, "A"), "highest current")
    minimum_v = number((3, 36, "V"), "lowest voltage it works at")
    tolerance_share = number((0, 2, ""), "how far above budget still passes, as a share")
    report_interval_min = number((0.1, 100_000, "min"), "time between reports")


class METER(Keys, name="meter"):
    """What the readings were taken with."""

    resolution_a = number((0, 1, "A"), "its smallest step on the range used")
    accuracy_percent = number((0, 50, "%"), "accuracy as a share of the reading")
    counts = number((0, 1000, ""), "further steps of its accuracy")
    kind = text("meter in series, clamp, fuse drop")


class BEFORE(Keys, name="before"):
    """Vehicle without the unit."""

    settled_a = number((-1, 50, "A"), "current of the sleeping vehicle")
    uncertainty_a = number((0, 50, "A"), "its uncertainty; from the meter otherwise")
    mean_a = number((-1, 50, "A"), "mean over whole wake-up periods, from a log")
    minutes_after_key_off = number((0, 100_000, "min"), "when it was read")
    log = text("CSV log beside the record, instead of the values above")


class AFTER(BEFORE, name="after"):
    """Vehicle with the unit."""


class CONNECTION(Keys, name="connection"):
    """What was fitted."""

    fuse_a = number((0.1, 100, "A"), "own fuse")
    wire_mm2 = number((0.05, 120, "mm²"), "section of the supply wire")
    length_m = number((0, 50, "m"), "its length, one way")


class SENSE(Keys, name="sense_check"):
    """Sense wire at the unit."""

    key_off_v = number((-1, 60, "V"), "key off")
    key_on_v = number((-1, 60, "V"), "key on")
    cranking_v = number((-1, 60, "V"), "lowest while cranking")


class CONSTANT(Keys, name="constant_check"):
    """Constant power at the unit, vehicle locked."""

    voltage_v = number((-1, 60, "V"), "voltage")
    minutes_after_key_off = number((0, 100_000, "min"), "when it was read")


class STARTUP(Keys, name="first_start"):
    """First start-up of the unit."""

    outdoors = _question("done in the open")
    connection_min = number((0, 10_000, "min"), "time to the first connection")
    position_min = number((0, 10_000, "min"), "time to the first position")


class MOUNTING(Keys, name="mounting"):
    """Mounting and routing."""

    view_of_sky = _question("the unit or its antenna sees the sky, no metal above it")
    fixed_firmly = _question("fixed so that it cannot swing, rattle or fall into pedals")
    dry_and_cool = _question("away from heat, water and moving parts")
    clear_of_restraints = _question("unit and wires clear of restraint modules and their paths")
    wires_protected = _question(
        "wires in sleeve or grommet where they pass metal, tied, not pinched"
    )
    fuse_fitted_last = _question("own fuse close to the source, fitted last")
    vehicle_normal = _question("no warning lamps; doors, lights and locks work as before")


class CAUTIONS(Keys, name="cautions"):
    """Cautions acknowledged."""

    restraint_circuits = _question(
        "no restraint, braking, steering or emergency wiring was touched"
    )
    battery_gas_and_acid = _question("batteries give off explosive gas and hold acid")
    fuse_before_wire = _question("every added wire has its fuse close to the source")
    series_meter = _question("a meter in series is never opened while the engine runs")
    high_voltage = _question("orange cables are high voltage and were left alone")


READINGS: Final[dict[str, type[BEFORE]]] = {"before": BEFORE, "after": AFTER}
TABLES: Final = {
    keys.TABLE.name: keys.TABLE
    for keys in (
        *(JOB, BUDGET, METER, BEFORE, AFTER, CONNECTION, SENSE, CONSTANT, STARTUP),
        *(MOUNTING, CAUTIONS),
    )
}
