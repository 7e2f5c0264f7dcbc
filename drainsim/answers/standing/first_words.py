"""The case in one line, and what to do by when: the words an answer begins with."""

from typing import Final

from drainsim import dates
from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.words import (
    date_after,
    day_and_month,
    days_words,
    end_words,
    short_date,
)
from drainsim.files.presets import presets
from drainsim.language import Celsius, Message, joined, message, risk_words
from drainsim.units import percent_from_share, whole_percent
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.assumption import Assumption
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_MINUTES_PER_HOUR: Final = 60.0
_NO_ENGINE: Final = {"electric": message("electric vehicle"), "trailer": message("trailer")}
_EVERY: Final = {
    1.0: message("hourly reports"),
    24.0: message("daily reports"),
    168.0: message("weekly reports"),
}


def case_words(case: Case) -> Message:
    """Return the case in one line, built from its values.

    Examples
    --------
    >>> from drainsim.vehicle.case import resolve
    >>> from drainsim.vehicle.keys.scenario import scenario_from_dict
    >>> case_words(resolve(scenario_from_dict({
    ...     "battery": {"profile": "agm", "capacity_ah": 80, "age_years": 5},
    ...     "vehicle": {"engine_litres": 2.2, "fuel": "diesel"},
    ...     "site": {"temperature_c": 5.0, "parked_from": "2027-01-10"}})))
    '80 Ah AGM, 5 years, 2.2 l diesel, no added unit, parked 10 Jan 2027, always at 5 °C'
    """
    given = {item.name: item for item in case.assumptions}
    parts = [
        message(
            "{capacity_ah:g} Ah {battery}",
            capacity_ah=case.battery.capacity_ah,
            battery=message(short_battery(case.battery.profile.name)),
        ),
        *_state(given),
        _vehicle(case, given),
        _reports(given) if case.unit.fitted else message("no added unit"),
        *_chargers(case),
        message("parked {day}", day=short_date(case.site.parked_from)),
        place_words(case),
    ]
    return joined(", ", [part for part in parts if part])


def short_battery(name: str) -> str:
    """Return a profile's name as it stands inside a line."""
    return within(name.removesuffix(" battery").removesuffix(" starting"))


def within(name: str) -> str:
    """Return a name as it stands inside a line."""
    return name if name[1:2].isupper() else f"{name[:1].lower()}{name[1:]}"


def _state(given: dict[str, Assumption]) -> list[Message]:
    """Return the age and, where they are given, charge or resting voltage."""
    parts = []
    if BATTERY.age_years in given:
        years = float(given[BATTERY.age_years].value)
        age = message("new"), message("1 year"), message("{years:.2g} years", years=years)
        parts.append(age[0] if years == 0.0 else age[1] if years == 1.0 else age[2])
    read, charge = given.get(BATTERY.resting_voltage_v), given.get(BATTERY.state_of_charge)
    if read is not None and read.value is not None:
        parts.append(message("{volts:.2f} V at rest", volts=read.value))
    elif charge is not None and charge.origin in {"given", "measured"}:
        percent = percent_from_share(charge.value)
        parts.append(message("{percent:.0f} % charged", percent=percent))
    return parts


def _vehicle(case: Case, given: dict[str, Assumption]) -> Message:
    kind = case.vehicle.kind
    if kind in _NO_ENGINE or VEHICLE.engine_litres not in given:
        return _NO_ENGINE.get(kind, message(kind))
    litres = float(given[VEHICLE.engine_litres].value)
    engine = (
        message("{litres:.1f} l", litres=litres)
        if litres >= 1.0
        else message("{cm3:.0f} cm³", cm3=1000.0 * litres)
    )
    kinds = [] if kind == "engine" else [message(kind)]
    fuels = [message(given[VEHICLE.fuel].value)] if VEHICLE.fuel in given else []
    return joined(" ", [*kinds, engine, *fuels])


def _reports(given: dict[str, Assumption]) -> Message:
    interval = given.get(UNIT.report_interval_h)
    if interval is None or interval.value is None:
        return message("added unit")
    hours = float(interval.value)
    if hours in _EVERY:
        return _EVERY[hours]
    if hours < 1.0:
        return message("reports every {minutes:.0f} min", minutes=_MINUTES_PER_HOUR * hours)
    return message("reports every {hours:g} h", hours=hours)


def _chargers(case: Case) -> list[Message]:
    return [
        words
        for charger, words in (
            (case.maintainer, message("on a maintainer")),
            (case.solar, message("solar panel")),
            (case.top_up, message("topped up from the traction battery")),
        )
        if charger is not None
    ]


def place_words(case: Case) -> Message:
    """Return where it stands, by what says so."""
    given = {item.name: item for item in case.assumptions}
    constant = given.get(SITE.temperature_c)
    if constant is not None and constant.value is not None:
        return message("always at {temperature:g}", temperature=Celsius(constant.value))
    coldest, latitude = given.get(SITE.coldest_month_c), given.get(SITE.latitude_deg)
    if coldest is not None and coldest.origin == "given":
        return message("coldest month {temperature:g}", temperature=Celsius(coldest.value))
    if latitude is not None:
        north = latitude.value >= 0.0
        return message(
            "at {latitude:g}° north, {altitude:g} m"
            if north
            else "at {latitude:g}° south, {altitude:g} m",
            latitude=abs(latitude.value),
            altitude=given[SITE.altitude_m].value,
        )
    climate = given.get(SITE.climate)
    if climate is None or climate.value is None:
        return message("own temperatures")
    return message(within(presets("climates")[str(climate.value)].name))


def _fails_at_once(answer: ParkAnswer) -> bool:
    """Say whether nearly all cases (9 in 10) fail at the very beginning."""
    return answer.days_to_no_start.p90 == 0.0


def act_words(answer: ParkAnswer) -> Message:
    """Return what to do by when: "Drive or charge it by 15 Dec 2026 (14 days)"."""
    safe, horizon = answer.days_at_risk, answer.case.horizon_days
    starts = answer.case.vehicle.starts
    if _fails_at_once(answer):
        return message(
            "It would not start right now" if starts else "The unit would be silent right now"
        )
    if safe is None:
        return message("It can stand for {days}", days=days_words(None, horizon))
    if safe == 0.0:
        return message("Charge it first: not one day is safe")
    last = date_after(answer.case.site.parked_from, safe)
    if last < dates.today():
        return message(
            "Charge it now: safe only to {day}{risk}", day=short_date(last), risk=_today(answer)
        )
    return message(
        "Drive or charge it by {day} ({days})" if starts else "Charge it by {day} ({days})",
        day=short_date(last),
        days=days_words(safe, horizon),
    )


def _today(answer: ParkAnswer) -> str:
    """Return the risk of today for a stand that is past its safe days, as far as looked at."""
    day = (dates.today() - answer.case.site.parked_from).days
    risks = answer.course.probability_no_start
    if day >= len(risks):
        return ""
    return message(", risk today {risk}", risk=risk_words(float(risks[day])))


def half_words(answer: ParkAnswer) -> Message:
    """Return when half have failed: "Half of such vehicles fail by 4 Jan 2027 (35 days)"."""
    days, horizon = answer.days_to_no_start, answer.case.horizon_days
    fail = message("vehicles fail" if answer.case.vehicle.starts else "units fall silent")
    if _fails_at_once(answer):
        return message("Charge it fully now; if it is full, have the battery tested")
    if days.p10 is None:
        return message("Fewer than 1 in 10 such {fail} within {days} days", fail=fail, days=horizon)
    if days.p50 is None:
        return message("Fewer than half of such {fail} within {days} days", fail=fail, days=horizon)
    if days.p50 == 0.0:
        risk = whole_percent(float(answer.course.probability_no_start[0]))
        return message("{risk} % of such {fail} at once", risk=risk, fail=fail)
    return message(
        "Half of such {fail} by {day} ({days})",
        fail=fail,
        day=short_date(date_after(answer.case.site.parked_from, days.p50)),
        days=days_words(days.p50, horizon),
    )


def bar_words(answer: ParkAnswer) -> tuple[Message, Message, Message]:
    """Return how the three parts of a stand read: safe, unsure, past it."""
    parked, horizon = answer.case.site.parked_from, answer.case.horizon_days
    safe, last = answer.days_at_risk, answer.days_to_no_start.p90

    def by(word: Message, days: float | None) -> Message:
        if days is None:
            return word
        return message("{safe} to {day}", safe=word, day=day_and_month(date_after(parked, days)))

    past = (
        message("expect a {end}", end=end_words(answer))
        if last is not None
        else message("past {days} days: not asked", days=horizon)
    )
    return by(message("safe"), safe), by(message("unsure"), last), past
