"""The what-if controls by section: which parameters a page shows, and how far they reach there."""

from typing import Final

from drainsim.dashboard.what_if.control import (
    MILLIAMPERES,
    PER_CENT,
    PER_CENT_OF_FULL,
    PER_CENT_OF_NEW,
    Control,
    box,
    choice,
    date,
    file,
    slider,
    steps,
    switch,
)
from drainsim.files.presets import presets
from drainsim.files.profile import list_profiles, load_profile
from drainsim.language import marked
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.batteries.chargers import MAINTAINER, TOPUP
from drainsim.vehicle.places.site_keys import SITE, instead_of
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.run import RUN
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

NO_UNIT: Final = "none"
OWN: Final = "own"
FIRST_PANEL_W: Final = 20.0
SOME_LATITUDE_DEG: Final = 50.0  # where nothing says one; shown at once, to be put right


def _profiles() -> dict[str, str]:
    return {key: load_profile(key).name for key in list_profiles()}


def _units() -> dict[str, str]:
    return {NO_UNIT: marked("No added unit"), **_named("units"), OWN: marked("Own values")}


def _vehicles() -> dict[str, str]:
    return {**_named("vehicles"), OWN: marked("Own values")}


def _climates() -> dict[str, str]:
    return _named("climates")


def _named(kind: str) -> dict[str, str]:
    return {key: one.name for key, one in presets(kind).items()}


_REPORTS_H: Final = (0.1, 0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0, 168.0)
_TOP_UPS_H: Final = (1.0, 2.0, 4.0, 6.0, 8.0, 12.0, 24.0, 48.0, 72.0, 168.0)

# What decides about another control stands before it.
SECTIONS: Final[dict[str, tuple[Control, ...]]] = {
    "label": (
        choice("profile", BATTERY.profile, options=_profiles),
        slider("capacity_ah", BATTERY.capacity_ah, low=4.0, high=240.0),
        slider("age_years", BATTERY.age_years, high=12.0),
    ),
    "charge": (
        slider("charge_percent", BATTERY.state_of_charge, low=10.0, scale=PER_CENT_OF_FULL),
        slider("resting_v", BATTERY.resting_voltage_v, low=11.5, high=13.4, fallback=12.5),
    ),
    "batteries": (
        box(
            "full_resting_v",
            BATTERY.full_resting_voltage_v,
            low=12.1,
            high=13.9,
            empty=marked("not read"),
        ),
        box("cold_cranking_a", BATTERY.cold_cranking_a),
        choice("cranking_standard", BATTERY.cranking_standard),
        choice("system", BATTERY.system),
    ),
    "second": (
        box("second_capacity_ah", BATTERY.second_capacity_ah),
        choice("second_profile", BATTERY.second_profile, options=_profiles),
        box("second_health_percent", BATTERY.second_health, step=5.0, scale=PER_CENT_OF_NEW),
        box(
            "second_charge_percent",
            BATTERY.second_state_of_charge,
            step=5.0,
            scale=PER_CENT_OF_FULL,
        ),
        choice("isolator", BATTERY.isolator),
    ),
    "unit": (
        choice("unit", UNIT.preset, options=_units),
        choice("fed_from", UNIT.fed_from),
        steps("interval_h", UNIT.report_interval_h, _REPORTS_H),
        slider("sleep_ma", UNIT.sleep_a, high=30.0, step=0.1, scale=MILLIAMPERES),
        box("report_as", UNIT.report_charge_as, empty=marked("phase by phase, from the preset")),
        box("cutoff_v", UNIT.cutoff_v, high=14.0),
        choice("supply", UNIT.supply),
    ),
    "vehicle": (
        choice("kind", VEHICLE.kind),
        choice("vehicle", VEHICLE.preset, options=_vehicles),
        slider("quiescent_ma", VEHICLE.quiescent_a, high=150.0, scale=MILLIAMPERES),
        slider("engine_litres", VEHICLE.engine_litres, low=0.8, high=8.0),
        choice("fuel", VEHICLE.fuel),
        choice("oil_grade", VEHICLE.oil_grade, fallback=VEHICLE.oil_grade.example),
        box("block_heater_k", VEHICLE.block_heater_k),
        box("battery_heater_k", VEHICLE.battery_heater_k),
    ),
    "temperature": (
        choice("climate", SITE.climate, options=_climates),
        box(
            "place_latitude",
            SITE.latitude_deg,
            unit=marked("°, north positive"),
            empty=marked("north"),
        ),
        box("place_longitude", SITE.longitude_deg, unit=marked("°, east positive")),
        box("altitude_m", SITE.altitude_m),
        box("coldest_month_c", SITE.coldest_month_c),
        box("warmest_month_c", SITE.warmest_month_c),
        file("temperature_file", SITE.hourly_csv),
        slider("temperature_c", SITE.temperature_c, low=-30.0, high=45.0, fallback=10.0),
    ),
    "place": (
        date("parked_from", SITE.parked_from),
        slider("start_hour", SITE.start_hour),
        slider("horizon_days", RUN.horizon_days, low=14),
    ),
    "maintainer": (
        switch("maintainer", MAINTAINER.TABLE, marked("Mains maintainer stays connected")),
        slider("maintainer_a", MAINTAINER.current_a, low=0.1, high=10.0),
        slider("maintainer_h", MAINTAINER.hours_per_day, unit=marked("h a day")),
        slider("maintainer_from_day", MAINTAINER.from_day, high=180.0),
    ),
    "solar": (
        switch("solar", SOLAR.TABLE, marked("Solar panel")),
        slider("panel_w", SOLAR.panel_w, low=1.0, high=200.0, fallback=FIRST_PANEL_W),
        slider("panel_tilt_deg", SOLAR.tilt_deg),
        slider("panel_shade_percent", SOLAR.shading, step=5.0, scale=PER_CENT),
        slider(
            "latitude_deg",
            SOLAR.latitude_deg,
            low=-70.0,
            high=70.0,
            unit=marked("°, north positive"),
            fallback=SOME_LATITUDE_DEG,
        ),
    ),
    "top_up": (
        switch("top_up", TOPUP.TABLE, marked("Top-ups from the traction battery")),
        steps("top_up_every_h", TOPUP.every_h, _TOP_UPS_H),
        slider("top_up_a", TOPUP.current_a, low=1.0, high=60.0),
        slider("top_up_minutes", TOPUP.minutes, low=1.0, high=120.0),
        box("top_up_stops_days", TOPUP.suspended_after_days),
        slider("traction_percent", TOPUP.traction_state_of_charge, scale=PER_CENT),
        box("traction_kwh", TOPUP.traction_kwh, empty=marked("usual for the kind")),
    ),
}
CONTROLS: Final = {each.name: each for section in SECTIONS.values() for each in section}
PRESETS: Final = ("unit", "vehicle")  # a choice that replaces a whole table
# Ways of saying one thing, by what the page calls them; the first of their controls decides.
CHARGE_BY: Final = {
    marked("percentage"): ("charge_percent",),
    marked("resting voltage"): ("resting_v",),
}
PLACE_BY: Final = {
    marked("A climate from the list"): ("climate",),
    marked("Latitude, longitude, altitude"): (
        "place_latitude",
        "place_longitude",
        "altitude_m",
    ),
    marked("Its coldest month"): ("coldest_month_c", "warmest_month_c", "place_latitude"),
    marked("Own temperature file"): ("temperature_file",),
    marked("Constant temperature"): ("temperature_c",),
}
EITHER: Final[dict[str, tuple[str, ...]]] = {  # what a value takes the place of
    "charge_percent": ("resting_v",),
    "resting_v": ("charge_percent",),
    **{
        each.name: tuple(
            other.name for other in SECTIONS["temperature"] if other.key in instead_of(each.key)
        )
        for each in SECTIONS["temperature"]
    },
}
