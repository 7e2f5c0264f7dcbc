"""What the customer's answer rests on, in plain words: each value with where it comes from."""

from typing import Final

from drainsim.answers.storage.answer import StorageAnswer
from drainsim.files.presets import presets
from drainsim.language import Language, marked
from drainsim.units import ma_from_a
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.keys.assumption import Assumption
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_ORIGINS: Final = {
    "given": marked("stated"),
    "measured": marked("measured"),
    "preset": marked("typical"),
    "estimated": marked("estimated"),
    "default": marked("assumed"),
}
_REACHED: Final = {"paging", "edrx"}
_EMPTY_V: Final = 10.5  # a cut-off below saves no charge: end of the 20 h discharge of EN 50342-1


def assumption_words(answer: StorageAnswer, say: Language) -> tuple[str, ...]:
    """Return the values the answer rests on, each with where it comes from."""
    case = answer.case
    used = {item.name: item for item in case.assumptions}
    battery, vehicle, unit, site = case.battery, case.vehicle, case.unit, case.site
    found = [
        say(
            "Battery: {name}, {capacity:.0f} Ah ({how}), age in years: {age:.0f} ({how_age}), "
            "charged to {charge:.0f} % on the first day ({how_charge}).",
            name=say(battery.profile.name),
            capacity=battery.capacity_ah,
            how=_origin(used, BATTERY.capacity_ah, say),
            age=float(used[BATTERY.age_years].value),
            how_age=_origin(used, BATTERY.age_years, say),
            charge=100.0 * battery.state_of_charge,
            how_charge=_origin(used, BATTERY.state_of_charge, say),
        ),
        say(
            "Vehicle: {name}; it draws {current:.0f} mA when everything sleeps ({how}).",
            name=_vehicle(answer, say),
            current=ma_from_a(vehicle.quiescent_a),
            how=_origin(used, VEHICLE.quiescent_a, say),
        ),
        _unit(answer, say) if unit.fitted else say("No added unit."),
        say(
            "Place: {name}; the battery is at {low} to {high} on average over the day and the "
            "season.",
            name=_place(answer, say),
            low=say.temperature(float(site.battery_c.min())),
            high=say.temperature(float(site.battery_c.max())),
        ),
    ]
    if case.solar is not None:
        found.append(_panel(answer, case.solar.panel_w, say))
    others = [item for item in case.assumptions if item.name.startswith("other.")]
    if others:
        total = sum(float(item.value) for item in others)
        found.append(
            say("Other loads and chargers together: {current:.0f} mA.", current=ma_from_a(total))
        )
    found.append(_meaning(answer, say))
    return tuple(found)


def _panel(answer: StorageAnswer, panel_w: float, say: Language) -> str:
    """Return the panel that is there, and how it lies."""
    get = answer.question.scenario.get
    tilt_deg, shading = get(SOLAR.tilt_deg) or 0.0, get(SOLAR.shading) or 0.0
    if not (tilt_deg or shading):
        return say("A solar panel of {watts:.0f} W lies flat in the open.", watts=panel_w)
    return say(
        "A solar panel of {watts:.0f} W, tilted {tilt:.0f}° toward the equator; {shade:.0f} % of "
        "its sunshine is lost to shade.",
        watts=panel_w,
        tilt=tilt_deg,
        shade=100.0 * shading,
    )


def _meaning(answer: StorageAnswer, say: Language) -> str:
    """Return what the risk means."""
    draws, hour = answer.case.draws, answer.case.site.start_hour
    when = answer.question.when
    clock = f"{hour:02d}:00"
    if when == "any_time":
        return say(
            "Risk: share of {draws:.0f} possible cases (weather, battery, currents) that would not "
            "start at some hour until the last day.",
            draws=draws,
        )
    if when == "every_day":
        return say(
            "Risk: share of {draws:.0f} possible cases (weather, battery, currents) that would not "
            "start at {clock} on the worst day until the last.",
            draws=draws,
            clock=clock,
        )
    return say(
        "Risk: share of {draws:.0f} possible cases (weather, battery, currents) that would not "
        "start at {clock} on the last day.",
        draws=draws,
        clock=clock,
    )


def _origin(used: dict[str, Assumption], name: str, say: Language) -> str:
    return say(_ORIGINS[used[name].origin])


def _vehicle(answer: StorageAnswer, say: Language) -> str:
    chosen = answer.question.scenario.get(VEHICLE.preset)
    if chosen:
        return say(presets("vehicles")[chosen].name)
    vehicle = answer.case.vehicle
    if vehicle.diesel:
        return say("{litres:.1f} l diesel engine", litres=vehicle.engine_litres)
    return say("{litres:.1f} l petrol engine", litres=vehicle.engine_litres)


def _unit(answer: StorageAnswer, say: Language) -> str:
    """Return the unit by what it does: a preset's name may no longer fit its other keys."""
    used = {item.name: item.value for item in answer.case.assumptions}
    does = [_reports(float(used[UNIT.report_interval_h]), say)]
    if used.get(UNIT.listening) in _REACHED:
        does.append(say("can be reached in between"))
    if UNIT.ladder in used:
        does.append(say("reports less often as the battery falls"))
    if answer.case.unit.switches_off and float(used[UNIT.cutoff_v]) >= _EMPTY_V:
        does.append(
            say("switches itself off below {volts:.1f} V", volts=float(used[UNIT.cutoff_v]))
        )
    return say(
        "Added unit: it {does}; it draws {current:.1f} mA on average.",
        does=", ".join(does),
        current=ma_from_a(answer.case.unit.normal_current_a),
    )


def _reports(interval_h: float, say: Language) -> str:
    if interval_h < 1.0:
        return say("reports every {minutes:.0f} min", minutes=60.0 * interval_h)
    if interval_h == 1.0:
        return say("reports every hour")
    return say("reports every {hours:.0f} h", hours=interval_h)


def _place(answer: StorageAnswer, say: Language) -> str:
    get = answer.question.scenario.get
    if get(SITE.temperature_c) is not None:
        return say("always {degrees}", degrees=say.temperature(get(SITE.temperature_c)))
    for file in (SITE.hourly_csv, SITE.epw):
        if get(file) is not None:
            return say("temperatures of the file {file}", file=str(get(file)))
    if get(SITE.coldest_month_c) is not None:
        coldest = say.temperature(get(SITE.coldest_month_c))
        return say("coldest month {degrees} on average", degrees=coldest)
    if get(SITE.latitude_deg) is not None:
        altitude = answer.question.scenario.get_or_default(SITE.altitude_m)
        degrees = get(SITE.latitude_deg)
        return say("at latitude {degrees:g}°, {altitude:g} m", degrees=degrees, altitude=altitude)
    climate = answer.question.scenario.get_or_default(SITE.climate)
    return say(presets("climates")[climate].name)
