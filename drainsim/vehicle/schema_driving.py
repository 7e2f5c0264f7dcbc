"""Scenario keys of driving between parkings and of chargers on the mains."""

from typing import Final

from drainsim.vehicle.schema_fields import Field, Table, number

TRIP: Final = Table(
    name="trips",
    meaning="One trip that comes back every week on some days",
    repeated=True,
    required=("start", "minutes"),
    fields=(
        Field(
            key="days",
            kind="text",
            meaning="days of the trip: daily, Mon-Fri, or a list like Mon,Wed,Sat",
            default="daily",
            example="Mon-Fri",
        ),
        Field(key="start", kind="text", meaning="time of day of the start", example="07:30"),
        number("minutes", "min", 0.1, 1440, "length of the trip", example=20.0),
        number(
            "idle_share",
            "",
            0,
            1,
            "share of the time at idle: queues, lights, deliveries",
            default="pattern.idle_share",
            example=0.25,
        ),
        number(
            "load_a",
            "A",
            0,
            500,
            "electrical consumers while driving, without heated screens",
            default="pattern.load_a",
            example=25.0,
        ),
    ),
)

PATTERN: Final = Table(
    name="pattern",
    optional=True,
    meaning="How the vehicle was driven in the weeks before parking; gives the charge at parking",
    fields=(
        number(
            "trips_per_week",
            "",
            0,
            200,
            "trips a week, spread over the days, where no trips are listed",
            default="10",
            example=10,
        ),
        number("trip_minutes", "min", 0.1, 1440, "length of one", default="20 min", example=20),
        number("idle_share", "", 0, 1, "share of the time at idle", default="0.25"),
        number(
            "load_a",
            "A",
            0,
            500,
            "electrical consumers while driving without heated screens",
            default="25 A, at 24 V 15 A",
        ),
        number(
            "heated_screens_a",
            "A",
            0,
            300,
            "heated screens and seats, switched on when colder than 3 °C",
            default="0 A",
        ),
        number(
            "alternator_a",
            "A",
            0,
            500,
            "rated output of the alternator (DC-DC converter in an electric vehicle)",
            default="90 A; motorcycle 25 A",
        ),
        number(
            "alternator_idle_share",
            "",
            0,
            1,
            "share of it available at idle",
            default="0.4; a DC-DC converter 1",
        ),
        number(
            "regulated_v",
            "V",
            12,
            31,
            "voltage held at 20 °C, whole system",
            default="14.15 V, at 24 V 28.3 V",
        ),
        Field(
            key="regulation",
            kind="choice",
            choices=("usual", "smart"),
            meaning="smart: the engine computer charges only up to smart_charge",
            default="usual",
        ),
        number(
            "smart_charge", "", 0.5, 1, "charge smart regulation aims at, 0 to 1", default="0.8"
        ),
        number("crank_s", "s", 0, 60, "length of a warm start", default="1.5 s"),
        number(
            "charging_warm_up_k",
            "K",
            0,
            40,
            "how much warmer than parked the battery is while driving",
            default="0 K",
        ),
        Field(
            key="weeks",
            kind="integer",
            low=1,
            high=104,
            unit="weeks",
            meaning="weeks of driving to look at, up to the day of parking",
            default="60 weeks",
        ),
        number(
            "target_charge",
            "",
            0.2,
            1,
            "charge the battery should not fall below in ordinary weeks",
            default="0.8",
        ),
    ),
    tables=(TRIP,),
)

SOLAR_FIELDS: Final = (
    number(
        "tilt_deg",
        "°",
        0,
        90,
        "tilt of the panel toward the equator; 0 lies flat",
        default="0, on a roof",
    ),
    number("shading", "", 0, 1, "share of the sunshine lost to shade", default="0"),
)

SPREADS: Final = (
    number("regulated_sd_v", "V", 0, 1, "standard deviation of the regulated voltage (12 V)"),
    number("acceptance_sigma", "", 0, 2, "log standard deviation of what a battery accepts"),
    number("trip_sigma", "", 0, 1, "log standard deviation of the length of trips"),
    number(
        "charger_sigma", "", 0, 2, "log standard deviation of what maintainer and top-ups bring"
    ),
    number("cloud_sd", "", 0, 1, "standard deviation of a day's sunshine as a share of its mean"),
)

MAINTAINER: Final = Table(
    name="maintainer",
    optional=True,
    meaning="A mains charger that stays connected while parked",
    fields=(
        number("current_a", "A", 0.05, 100, "rated charging current", default="1 A", example=1.0),
        number("absorption_v", "V", 13, 16, "absorption voltage at 25 °C", default="14.4 V"),
        number("float_v", "V", 12.8, 15, "float voltage at 25 °C", default="13.6 V"),
        number(
            "compensation_v_per_k",
            "V/K",
            -0.06,
            0,
            "change of these voltages with temperature",
            default="-0.018 V/K",
        ),
        number("mains_efficiency", "", 0.1, 1, "charge power out ÷ mains power in", default="0.75"),
        number("hours_per_day", "h", 0, 24, "hours a day the mains is there", default="24 h"),
        number("from_day", "days", 0, 730, "days after parking when it is connected", default="0"),
        Field(
            key="between_trips",
            kind="choice",
            choices=("no", "yes"),
            meaning="whether it is plugged in between the trips of [pattern] as well",
            default="no",
        ),
    ),
)
