"""Scenario keys of everything that is not one 12 V battery under a petrol or diesel engine."""

from typing import Final

from drainsim.vehicle.schema_fields import Field, Table, number

SYSTEMS: Final = ("12V", "24V", "parallel", "auxiliary")
FED_FROM: Final = ("whole", "one_battery", "starter", "auxiliary")
KINDS: Final = ("engine", "motorcycle", "hybrid", "electric", "trailer")

BATTERY_FIELDS: Final = (
    Field(
        key="system",
        kind="choice",
        choices=SYSTEMS,
        meaning="one battery, two in series (24V), two equal ones in parallel, or a separate "
        "auxiliary battery beside the starting battery; labels are those of one 12 V battery",
        default="12V",
    ),
    number(
        "second_health",
        "",
        0.2,
        1.1,
        "state of health of the second battery as a share of new",
        default="like the first, each with its own luck",
    ),
    number(
        "second_state_of_charge",
        "",
        0,
        1,
        "charge of the second battery at parking, 0 to 1",
        default="like the first",
    ),
    number(
        "second_capacity_ah",
        "Ah",
        1,
        400,
        "20-hour capacity of an auxiliary battery",
        default="90 Ah",
    ),
    number(
        "second_charging_a",
        "A",
        0,
        300,
        "current that reaches an auxiliary battery at most while driving",
        default="20 A",
    ),
    number(
        "second_charging_drop_v",
        "V",
        0,
        2,
        "voltage lost on the way there; 0 with a booster",
        default="0.5 V",
    ),
    Field(
        key="second_profile",
        kind="text",
        meaning="type of an auxiliary battery, see: drainsim profiles",
        default="agm",
    ),
    Field(
        key="isolator",
        kind="choice",
        choices=("yes", "no"),
        meaning="whether starting and auxiliary battery are separated while parked",
        default="yes",
    ),
)

UNIT_FIELDS: Final = (
    Field(
        key="fed_from",
        kind="choice",
        choices=FED_FROM,
        meaning="battery the unit hangs on: the whole system, one of two in series (a mistake), "
        "the starting or the auxiliary battery",
        default="whole; starter beside an auxiliary battery",
    ),
)

VEHICLE_FIELDS: Final = (
    Field(
        key="kind",
        kind="choice",
        choices=KINDS,
        meaning="what the battery must do: turn an engine, close the contactors of a hybrid or "
        "electric vehicle, or only feed the unit of a trailer",
        default="engine",
    ),
)

OTHER_FIELDS: Final = (
    Field(
        key="fed_from",
        kind="choice",
        choices=("starter", "auxiliary"),
        meaning="battery it hangs on",
        default="starter",
        example="starter",
    ),
)

TOP_UP: Final = Table(
    name="top_up",
    optional=True,
    meaning="The 12 V battery of a hybrid or electric vehicle topped up from its traction battery",
    fields=(
        number("every_h", "h", 1, 2000, "time between top-ups while parked", default="24 h"),
        number("current_a", "A", 0.1, 100, "current into the 12 V battery", default="20 A"),
        number("minutes", "min", 0.1, 600, "length of one top-up", default="15 min"),
        number(
            "monitor_a",
            "A",
            0,
            2,
            "what watching the 12 V battery itself draws from it, on average",
            default="0.005 A",
        ),
        number(
            "suspended_after_days",
            "days",
            0,
            730,
            "days of parking after which the maker stops it",
            default="never",
        ),
        number(
            "traction_kwh",
            "kWh",
            0.1,
            1000,
            "size of the traction battery",
            default="40 kWh, of a hybrid 1.5 kWh",
        ),
        number(
            "traction_state_of_charge", "", 0, 1, "charge of it at parking, 0 to 1", default="0.5"
        ),
        number(
            "traction_limit",
            "",
            0,
            1,
            "charge of it below which there is no top-up",
            default="0.1",
        ),
        number(
            "traction_loss_per_month",
            "",
            0,
            0.5,
            "share of its charge a parked traction battery loses in 30 days without top-ups",
            default="0.02",
        ),
    ),
)
