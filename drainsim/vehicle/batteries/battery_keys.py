"""Scenario keys of the battery, and of a second one beside it."""

from typing import Final

from drainsim.vehicle.keys.parameter import PRACTICE, Keys, choice, number, text, usual

LARGEST_AH: Final = 400  # of a 12 V battery meant here
_TABLE: Final = "battery"
# What a split-charge relay and its cable bring to an auxiliary battery.
_RELAY: Final = f"split-charge relay and its cable; {PRACTICE}"


class BATTERY(Keys, name="battery"):
    """What is printed on the battery and what was measured on it."""

    profile = text(
        "battery type, see: drainsim profiles",
        **usual("flooded_calcium", "the usual starting battery of a car without stop-start"),
        example="flooded_calcium",
        label="Battery type",
        column="battery_profile",
    )
    capacity_ah = number(
        (1, LARGEST_AH, "Ah"),
        "20-hour capacity on the label",
        otherwise="estimated from the other label values, else from the engine",
        example=60,
        label="Capacity on the label",
        note="20-hour capacity of one battery",
        column="capacity_ah",
    )
    reserve_capacity_min = number(
        (1, 1000, "min"),
        "reserve capacity on the label: minutes at 25 A to 10.5 V",
        otherwise="estimated from the capacity",
        column="reserve_capacity_min",
    )
    cold_cranking_a = number(
        (10, 2500, "A"),
        "cold cranking current on the label",
        otherwise="from the capacity",
        example=540,
        label="Cold cranking current on the label",
        note="Left empty, it is estimated from the capacity and the range grows.",
        step=10.0,
        column="cold_cranking_a",
    )
    cranking_standard = choice(
        ("SAE", "EN", "DIN", "JIS"),
        "standard of the cold cranking current",
        **usual("EN", "usual on labels in Europe; EN and SAE figures differ by a few per cent"),
        example="EN",
        needs=f"{_TABLE}.cold_cranking_a",
        label="Standard beside the cranking current",
        column="cranking_standard",
    )
    age_years = number(
        (0, 20, "years"),
        "age of the battery",
        **usual(3.0, f"average fleet battery; {PRACTICE}"),
        example=3,
        label="Battery age",
        step=0.5,
        column="battery_age_years",
    )
    state_of_charge = number(
        (0, 1, ""),
        "charge at parking as a share of full, 0 to 1",
        **usual(0.85, f"after ordinary driving; {PRACTICE}"),
        example=0.85,
        label="Charge at parking",
        column="state_of_charge",
    )
    resting_voltage_v = number(
        (6, 16, "V"),
        "voltage of the 12 V battery after resting for hours; gives the state of charge",
        label="Resting voltage",
        note="Read after at least 4 h of rest, better overnight.",
        step=0.01,
        column="resting_voltage_v",
    )
    full_resting_voltage_v = number(
        (6, 16, "V"),
        "voltage of the 12 V battery a day after a full charge, at about 20 °C: how far this "
        "make rests beside the usual curve",
        label="Resting voltage when full",
        note="Read a day after a full charge: how this make rests beside others.",
        step=0.01,
    )
    resting_temperature_c = number(
        (-40, 60, "°C"),
        "battery temperature when the resting voltage was read",
        **usual(20.0, "matters little: about 1 mV/K"),
        needs=f"{_TABLE}.resting_voltage_v",
        column="resting_temperature_c",
    )
    rested_h = number(
        (0, 1000, "h"),
        "hours the battery had rested when its voltage was read",
        otherwise="not known",
        needs=f"{_TABLE}.resting_voltage_v",
        column="rested_h",
    )
    health = number(
        (0.2, 1.1, ""),
        "state of health as a share of new, for capacity and cranking alike",
        otherwise="estimated from age and climate",
        column="health",
    )
    capacity_health = number((0.2, 1.1, ""), "capacity left as a share of new", otherwise="health")
    cranking_health = number(
        (0.1, 1.2, ""), "cold cranking current left as a share of new", otherwise="health"
    )
    system = choice(
        {
            "12V": "one 12 V battery",
            "24V": "24 V, two in series",
            "parallel": "two in parallel",
            "auxiliary": "with an auxiliary battery",
        },
        "one battery, two in series (24V), two equal ones in parallel, or a separate "
        "auxiliary battery beside the starting battery; labels are those of one 12 V battery",
        **usual("12V", "a single 12 V battery"),
        label="Batteries",
        column="battery_system",
    )
    second_health = number(
        (0.2, 1.1, ""),
        "state of health of the second battery as a share of new",
        otherwise="like the first, drawn independently",
        label="Health of the second battery",
        column="second_health",
    )
    second_state_of_charge = number(
        (0, 1, ""),
        "charge of the second battery at parking, 0 to 1",
        otherwise="like the first",
        label="Charge of the second battery",
    )
    second_capacity_ah = number(
        (1, LARGEST_AH, "Ah"),
        "20-hour capacity of an auxiliary battery",
        **usual(90.0),
        label="Capacity of the auxiliary battery",
        step=5.0,
    )
    second_charging_a = number(
        (0, 300, "A"),
        "current that reaches an auxiliary battery at most while driving",
        **usual(20.0, _RELAY),
    )
    second_charging_drop_v = number(
        (0, 2, "V"), "voltage lost on the way there; 0 with a booster", **usual(0.5, _RELAY)
    )
    second_profile = text(
        "type of an auxiliary battery, see: drainsim profiles",
        default="agm",
        label="Type of the auxiliary battery",
    )
    isolator = choice(
        {"yes": "separated while parked", "no": "connected while parked"},
        "whether starting and auxiliary battery are separated while parked",
        **usual("yes", f"usual with an auxiliary; {PRACTICE}"),
        label="Starting and auxiliary battery",
        note="An isolator or a relay separates them, so that one cannot empty the other.",
    )
