"""The case in one line, and what to do by when: the words an answer begins with."""

from typing import Final

from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.words import date_after, days_words, end_words, range_words, short_date
from drainsim.files.presets import presets
from drainsim.units import percent_from_share, whole_percent
from drainsim.vehicle.assumption import Assumption
from drainsim.vehicle.battery_keys import BATTERY
from drainsim.vehicle.case import Case
from drainsim.vehicle.site import SITE
from drainsim.vehicle.unit import UNIT
from drainsim.vehicle.vehicle import VEHICLE

_MINUTES_PER_HOUR: Final = 60.0
_NO_ENGINE: Final = {"electric": "electric vehicle", "trailer": "trailer"}
_EVERY: Final = {1.0: "hourly reports", 24.0: "daily reports", 168.0: "weekly reports"}


def case_words(case: Case) -> str:
    """Return the case in one line, built from its values.

    Examples
    --------
    >>> from drainsim.vehicle.case import resolve
    >>> from drainsim.vehicle.scenario import scenario_from_dict
    >>> case_words(resolve(scenario_from_dict({
    ...     "battery": {"profile": "agm", "capacity_ah": 80, "age_years": 5},
    ...     "vehicle": {"engine_litres": 2.2, "fuel": "diesel"},
    ...     "site": {"temperature_c": 5.0, "parked_from": "2027-01-10"}})))
    '80 Ah AGM, 5 years, 2.2 l diesel, no added unit, parked 10 Jan 2027, always at 5 °C'
    """
    given = {item.name: item for item in case.assumptions}
    parts = [
        f"{case.battery.capacity_ah:g} Ah {_battery(case.battery.profile.name)}",
        *_state(given),
        _vehicle(case, given),
        _reports(given) if case.unit.fitted else "no added unit",
        *_chargers(case),
        f"parked {short_date(case.site.parked_from)}",
        _place(given),
    ]
    return ", ".join(part for part in parts if part)


def _battery(name: str) -> str:
    return _within(name.removesuffix(" battery").removesuffix(" starting"))


def _within(name: str) -> str:
    """Return a name as it stands inside a line."""
    return name if name[1:2].isupper() else f"{name[:1].lower()}{name[1:]}"


def _state(given: dict[str, Assumption]) -> list[str]:
    """Return the age and, where they are given, charge or resting voltage."""
    parts = []
    if BATTERY.age_years in given:
        years = float(given[BATTERY.age_years].value)
        parts.append("new" if years == 0.0 else "1 year" if years == 1.0 else f"{years:g} years")
    read, charge = given.get(BATTERY.resting_voltage_v), given.get(BATTERY.state_of_charge)
    if read is not None and read.value is not None:
        parts.append(f"{read.value:.2f} V at rest")
    elif charge is not None and charge.origin in {"given", "measured"}:
        parts.append(f"{percent_from_share(charge.value):.0f} % charged")
    return parts


def _vehicle(case: Case, given: dict[str, Assumption]) -> str:
    kind = case.vehicle.kind
    if kind in _NO_ENGINE or VEHICLE.engine_litres not in given:
        return _NO_ENGINE.get(kind, kind)
    litres = float(given[VEHICLE.engine_litres].value)
    engine = f"{litres:.1f} l" if litres >= 1.0 else f"{1000.0 * litres:.0f} cm³"
    fuel = given[VEHICLE.fuel].value if VEHICLE.fuel in given else ""
    return f"{'' if kind == 'engine' else f'{kind} '}{engine} {fuel}".strip()


def _reports(given: dict[str, Assumption]) -> str:
    interval = given.get(UNIT.report_interval_h)
    if interval is None or interval.value is None:
        return "added unit"
    hours = float(interval.value)
    if hours in _EVERY:
        return _EVERY[hours]
    if hours < 1.0:
        return f"reports every {_MINUTES_PER_HOUR * hours:.0f} min"
    return f"reports every {hours:g} h"


def _chargers(case: Case) -> list[str]:
    return [
        words
        for charger, words in (
            (case.maintainer, "on a maintainer"),
            (case.solar, "solar panel"),
            (case.top_up, "topped up from the traction battery"),
        )
        if charger is not None
    ]


def _place(given: dict[str, Assumption]) -> str:
    constant = given.get(SITE.temperature_c)
    if constant is not None and constant.value is not None:
        return f"always at {constant.value:g} °C"
    coldest, latitude = given.get(SITE.coldest_month_c), given.get(SITE.latitude_deg)
    if coldest is not None and coldest.origin == "given":
        return f"coldest month {coldest.value:g} °C"
    if latitude is not None:
        half = "north" if latitude.value >= 0.0 else "south"
        return f"at {abs(latitude.value):g}° {half}, {given[SITE.altitude_m].value:g} m"
    climate = given.get(SITE.climate)
    if climate is None or climate.value is None:
        return "own temperatures"
    return _within(presets("climates")[str(climate.value)].name)


def fails_at_once(answer: ParkAnswer) -> bool:
    """Say whether nearly all cases (9 in 10) fail at the very beginning."""
    return answer.days_to_no_start.p90 == 0.0


def act_words(answer: ParkAnswer) -> str:
    """Return what to do by when: "Start or charge it by 15 Dec 2026 (14 days)"."""
    safe, horizon = answer.days_at_risk, answer.case.horizon_days
    starts = answer.case.vehicle.starts
    if fails_at_once(answer):
        return "It would not start right now" if starts else "The unit would be silent right now"
    if safe is None:
        return f"It can stand for {days_words(None, horizon)}"
    if safe == 0.0:
        return "Charge it first: not one day is safe"
    by = f"by {short_date(date_after(answer.case.site.parked_from, safe))}"
    return f"{'Start or charge' if starts else 'Charge'} it {by} ({days_words(safe, horizon)})"


def half_words(answer: ParkAnswer) -> str:
    """Return when half have failed: "Half of such vehicles fail by 4 Jan 2027 (35 days)"."""
    days, horizon = answer.days_to_no_start, answer.case.horizon_days
    such, fail = ("vehicles", "fail") if answer.case.vehicle.starts else ("units", "fall silent")
    if fails_at_once(answer):
        return "Charge it fully now; if it is full, have the battery tested"
    if days.p10 is None:
        return f"Fewer than 1 in 10 such {such} {fail} within {horizon} days"
    if days.p50 is None:
        return f"Fewer than half of such {such} {fail} within {horizon} days"
    if days.p50 == 0.0:
        risk = whole_percent(float(answer.course.probability_no_start[0]))
        return f"{risk} % of such {such} {fail} at once, 8 in 10 after {range_words(days, horizon)}"
    by = short_date(date_after(answer.case.site.parked_from, days.p50))
    return (
        f"Half of such {such} {fail} by {by} ({days_words(days.p50, horizon)}), 8 in 10 after "
        f"{range_words(days, horizon)}"
    )


def bar_words(answer: ParkAnswer) -> tuple[str, str, str]:
    """Return how the three parts of a stand read: safe, unsure, past it."""
    parked, horizon = answer.case.site.parked_from, answer.case.horizon_days
    safe, last = answer.days_at_risk, answer.days_to_no_start.p90

    def by(days: float | None) -> str:
        return "" if days is None else f" to {date_after(parked, days):%-d %b}"

    past = f"expect a {end_words(answer)}" if last else f"past {horizon} days: not asked"
    return f"safe{by(safe)}", f"unsure{by(last)}", past
