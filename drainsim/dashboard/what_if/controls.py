"""The what-if controls, declared once: what the panel draws and the address can say."""

from typing import Final

from drainsim.dashboard.what_if.charger_controls import CHARGER_CONTROLS
from drainsim.dashboard.what_if.control import MILLIAMPERES, PER_CENT, Control
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, load_profile
from drainsim.physics.oil import OIL_GRADES
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.parameter import Parameter
from drainsim.vehicle.run import RUN
from drainsim.vehicle.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

NO_UNIT: Final = "none"
OWN: Final = "own"


def _profiles() -> dict[str, str]:
    return {key: load_profile(key).name for key in list_profiles()}


def _units() -> dict[str, str]:
    named = {key: one.name for key, one in presets("units").items()}
    return {NO_UNIT: "No added unit", **named, OWN: "Own values"}


def _vehicles() -> dict[str, str]:
    return {**{key: one.name for key, one in presets("vehicles").items()}, OWN: "Own values"}


def _climates() -> dict[str, str]:
    return {key: one.name for key, one in presets("climates").items()}


def _systems() -> dict[str, str]:
    return {
        "12V": "one 12 V battery",
        "24V": "24 V, two in series",
        "parallel": "two in parallel",
        "auxiliary": "with an auxiliary battery",
    }


def _feeds() -> dict[str, str]:
    return {
        "whole": "the whole system",
        "one_battery": "one of the two (a mistake)",
        "starter": "the starting battery",
        "auxiliary": "the auxiliary battery",
    }


def _kinds() -> dict[str, str]:
    return {
        "engine": "car, van or truck with an engine",
        "motorcycle": "motorcycle",
        "hybrid": "hybrid",
        "electric": "electric",
        "trailer": "trailer",
    }


def _isolators() -> dict[str, str]:
    return {"yes": "separated while parked", "no": "connected while parked"}


def _supplies() -> dict[str, str]:
    return {"switching": "switching (constant power)", "linear": "linear (constant current)"}


def _oils() -> dict[str, str]:
    return {grade: grade for grade in OIL_GRADES}


def _fuels() -> dict[str, str]:
    return {"petrol": "petrol", "diesel": "diesel"}


_INTERVALS_H: Final = (0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0, 168.0)

_ALL: Final = (
    Control(
        name="profile",
        key=BATTERY.profile,
        label="Battery type",
        kind="choice",
        options=_profiles,
    ),
    Control(
        name="capacity_ah",
        key=BATTERY.capacity_ah,
        label="Capacity on the label [Ah]",
        kind="slider",
        low=4.0,
        high=240.0,
        note="20-hour capacity of one battery",
    ),
    Control(
        name="cold_cranking_a",
        key=BATTERY.cold_cranking_a,
        label="Cold cranking current on the label [A]",
        kind="box",
        low=10.0,
        high=2500.0,
        step=10.0,
        empty="from the capacity",
        note="Left empty, it is estimated from the capacity and the range grows.",
    ),
    Control(
        name="age_years",
        key=BATTERY.age_years,
        label="Battery age [years]",
        kind="slider",
        low=0.0,
        high=12.0,
        step=0.5,
    ),
    Control(
        name="charge_percent",
        key=BATTERY.state_of_charge,
        label="Charge at parking [% of full]",
        kind="slider",
        low=10.0,
        high=100.0,
        scale=PER_CENT,
    ),
    Control(
        name="resting_v",
        key=BATTERY.resting_voltage_v,
        label="Resting voltage [V]",
        kind="slider",
        low=11.5,
        high=13.4,
        step=0.01,
        fallback=12.5,
        note="Read after at least 4 h of rest, better overnight.",
    ),
    Control(
        name="full_resting_v",
        key=BATTERY.full_resting_voltage_v,
        label="Resting voltage when full [V]",
        kind="box",
        low=12.1,
        high=13.9,
        step=0.01,
        empty="not read",
        note="Read a day after a full charge: how this make rests beside others.",
    ),
    Control(
        name="system",
        key=BATTERY.system,
        label="Batteries",
        kind="choice",
        options=_systems,
        fallback="12V",
    ),
    Control(
        name="second_health_percent",
        key=BATTERY.second_health,
        label="Health of the second battery [% of new]",
        kind="box",
        low=20.0,
        high=110.0,
        step=5.0,
        empty="like the first",
        scale=PER_CENT,
    ),
    Control(
        name="second_charge_percent",
        key=BATTERY.second_state_of_charge,
        label="Charge of the second battery [% of full]",
        kind="box",
        low=0.0,
        high=100.0,
        step=5.0,
        empty="like the first",
        scale=PER_CENT,
    ),
    Control(
        name="second_capacity_ah",
        key=BATTERY.second_capacity_ah,
        label="Capacity of the auxiliary battery [Ah]",
        kind="box",
        low=1.0,
        high=400.0,
        step=5.0,
        empty="90",
    ),
    Control(
        name="second_profile",
        key=BATTERY.second_profile,
        label="Type of the auxiliary battery",
        kind="choice",
        options=_profiles,
        fallback="agm",
    ),
    Control(
        name="isolator",
        key=BATTERY.isolator,
        label="Starting and auxiliary battery",
        kind="choice",
        options=_isolators,
        fallback="yes",
        note="An isolator or a relay separates them, so that one cannot empty the other.",
    ),
    Control(
        name="unit",
        key=Parameter("unit", kind="table"),
        label="Added unit",
        kind="choice",
        options=_units,
    ),
    Control(
        name="interval_h",
        key=UNIT.report_interval_h,
        label="Time between reports [h]",
        kind="steps",
        steps=_INTERVALS_H,
        fallback=1.0,
    ),
    Control(
        name="sleep_ma",
        key=UNIT.sleep_a,
        label="Sleep current [mA]",
        kind="slider",
        low=0.0,
        high=30.0,
        step=0.1,
        fallback=4.0,
        note="Between events, on the battery side; without what keeps it reachable.",
        scale=MILLIAMPERES,
    ),
    Control(
        name="report_as",
        key=UNIT.report_charge_as,
        label="Charge of one report [A·s]",
        kind="box",
        low=0.0,
        high=5000.0,
        step=0.5,
        empty="phase by phase, from the preset",
        note="Above the sleep current. 3600 A·s are 1 Ah.",
    ),
    Control(
        name="cutoff_v",
        key=UNIT.cutoff_v,
        label="Switches itself off below [V]",
        kind="box",
        low=6.0,
        high=14.0,
        step=0.1,
        empty="no cut-off",
    ),
    Control(
        name="supply",
        key=UNIT.supply,
        label="Supply stage",
        kind="choice",
        options=_supplies,
        fallback="switching",
    ),
    Control(
        name="fed_from",
        key=UNIT.fed_from,
        label="The unit is fed from",
        kind="choice",
        options=_feeds,
        fallback="whole",
    ),
    Control(
        name="vehicle",
        key=Parameter("vehicle", kind="table"),
        label="Vehicle",
        kind="choice",
        options=_vehicles,
    ),
    Control(
        name="kind",
        key=VEHICLE.kind,
        label="Kind of vehicle",
        kind="choice",
        options=_kinds,
        fallback="engine",
        note="Another kind starts from its own usual values.",
    ),
    Control(
        name="quiescent_ma",
        key=VEHICLE.quiescent_a,
        label="Quiescent current of the vehicle [mA]",
        kind="slider",
        low=0.0,
        high=150.0,
        note="Once every control unit sleeps, without the added unit.",
        scale=MILLIAMPERES,
    ),
    Control(
        name="engine_litres",
        key=VEHICLE.engine_litres,
        label="Engine [l]",
        kind="slider",
        low=0.8,
        high=8.0,
        step=0.1,
    ),
    Control(
        name="fuel",
        key=VEHICLE.fuel,
        label="Fuel",
        kind="choice",
        options=_fuels,
    ),
    Control(
        name="oil_grade",
        key=VEHICLE.oil_grade,
        label="Engine oil",
        kind="choice",
        options=_oils,
        fallback="5W-30",
        note="On the last service label. Thinner oil starts in deeper cold; the range narrows.",
    ),
    Control(
        name="block_heater_k",
        key=VEHICLE.block_heater_k,
        label="Block heater, oil warmer than the air by [K]",
        kind="box",
        low=0.0,
        high=80.0,
        step=5.0,
        empty="no heater",
        note="Needs mains for 3 to 4 hours before each start.",
    ),
    Control(
        name="battery_heater_k",
        key=VEHICLE.battery_heater_k,
        label="Battery heater, battery warmer than the air by [K]",
        kind="box",
        low=0.0,
        high=60.0,
        step=5.0,
        empty="no heater",
        note="Needs mains for 3 to 4 hours before each start.",
    ),
    Control(
        name="climate",
        key=SITE.climate,
        label="Climate",
        kind="choice",
        options=_climates,
        fallback="temperate",
    ),
    Control(
        name="temperature_c",
        key=SITE.temperature_c,
        label="Constant temperature [°C]",
        kind="slider",
        low=-30.0,
        high=45.0,
        fallback=10.0,
    ),
    Control(
        name="parked_from",
        key=SITE.parked_from,
        label="Parked on",
        kind="date",
    ),
    Control(
        name="start_hour",
        key=SITE.start_hour,
        label="Hour of the start [h]",
        kind="slider",
        low=0,
        high=23,
        whole=True,
    ),
    Control(
        name="horizon_days",
        key=RUN.horizon_days,
        label="Look ahead [days]",
        kind="slider",
        low=14,
        high=730,
        whole=True,
    ),
    *CHARGER_CONTROLS,
)

CONTROLS: Final = {control.name: control for control in _ALL}
PRESETS: Final = ("unit", "vehicle")  # a choice that replaces a whole table
EITHER: Final = {  # one of each pair may be given
    "charge_percent": "resting_v",
    "resting_v": "charge_percent",
    "climate": "temperature_c",
    "temperature_c": "climate",
}
# Known rather than assumed, each of these narrows the range.
KNOWABLE: Final = ("capacity_ah", "age_years", "charge_percent", "quiescent_ma", "sleep_ma")
