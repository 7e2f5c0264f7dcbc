"""Scenario keys of the vehicle and its further loads."""

from typing import Final

from drainsim.physics.oil import OIL_GRADES
from drainsim.vehicle.schema_fields import Field, Table, number
from drainsim.vehicle.schema_systems import OTHER_FIELDS, VEHICLE_FIELDS

VEHICLE: Final = Table(
    name="vehicle",
    meaning="The vehicle's own draw and what its engine asks of the battery",
    fields=(
        Field(
            key="preset",
            kind="text",
            meaning="generic vehicle to start from, see: drainsim profiles",
        ),
        number(
            "quiescent_a",
            "A",
            0,
            50,
            "settled current once everything sleeps",
            default="0.040 A",
            example=0.03,
        ),
        number("engine_litres", "l", 0.05, 16, "swept volume", default="2.0 l", example=2.0),
        Field(
            key="fuel",
            kind="choice",
            choices=("petrol", "diesel"),
            meaning="engine type",
            default="petrol",
            example="petrol",
        ),
        number(
            "cranking_demand_a",
            "A",
            5,
            3000,
            "starter current of the warm engine (27 °C)",
            default="estimated from the engine",
        ),
        number(
            "minimum_cranking_v",
            "V",
            6,
            23,
            "battery voltage starter and control electronics need",
            default="7.5 V, for two in series 15 V",
        ),
        Field(
            key="oil_grade",
            kind="choice",
            choices=OIL_GRADES,
            meaning="SAE grade of the engine oil: how much harder the engine turns in the cold",
            default="usual for fuel, engine size and climate",
            example="5W-30",
        ),
        number(
            "block_heater_k",
            "K",
            0,
            80,
            "how much warmer than the air a block heater on mains keeps engine and oil at a start",
            default="0 K, no heater",
        ),
        number(
            "battery_heater_k",
            "K",
            0,
            60,
            "how much warmer than the air a battery heater on mains keeps the battery at a start",
            default="0 K, no heater",
        ),
        *VEHICLE_FIELDS,
    ),
    tables=(
        Table(
            name="key_off_stages",
            meaning="What is drawn between key off and sleep, stage by stage",
            repeated=True,
            required=("duration_s", "current_a"),
            fields=(
                number("duration_s", "s", 0, 86400, "length of the stage", example=300),
                number("current_a", "A", 0, 200, "total vehicle current", example=3.0),
            ),
        ),
        Table(
            name="wake_ups",
            meaning="Recurring wake-ups of the sleeping vehicle",
            repeated=True,
            required=("every_h", "duration_s", "current_a"),
            fields=(
                number("every_h", "h", 0.002, 10000, "time between them", example=24),
                number("duration_s", "s", 0, 86400, "length", example=60),
                number("current_a", "A", 0, 200, "total vehicle current meanwhile", example=2.0),
            ),
        ),
    ),
)

OTHER: Final = Table(
    name="other",
    meaning="Further loads; a negative current is a maintainer",
    repeated=True,
    required=("name", "current_a"),
    fields=(
        Field(key="name", kind="text", meaning="what it is", example="dash camera"),
        number("current_a", "A", -20, 50, "mean current, negative when it charges", example=0.0),
        *OTHER_FIELDS,
    ),
)
