"""Parts of an answer as data frames: literal text, no markup."""

import datetime as dt
from collections.abc import Callable
from typing import Final

import pandas as pd

from drainsim.answers.standing.first_words import short_battery
from drainsim.answers.standing.park import ParkAnswer
from drainsim.answers.words import date_after, days_words, difference_words, end_words, short_date
from drainsim.dashboard.parts.plain_text import said, sentence
from drainsim.files.profile import list_profiles, load_profile
from drainsim.language import Celsius, Message, say
from drainsim.vehicle.case import Case
from drainsim.vehicle.keys.assumption import shown
from drainsim.vehicle.keys.schema import PARAMETERS

_CRANKING_ROW: Final = 1  # of the table of effects; a trailer has no starter


def end_points(answer: ParkAnswer, baseline: ParkAnswer | None) -> pd.DataFrame:
    """Return when each thing ends, in days and as a date, and against the baseline."""
    rows: list[tuple[str, Callable[[ParkAnswer], float | None]]]
    starts, ends = answer.case.vehicle.starts, end_words(answer)
    rows = [(say("{end}, any hour", end=sentence(ends)), lambda one: one.days_to_no_start.p50)]
    rows += [
        (
            say(
                "{end} at {hour}", end=sentence(ends), hour=f"{answer.case.site.start_hour:02d}:00"
            ),
            lambda one: one.days_at_start_hour.p50,
        ),
        (say("Risk of a {end} above 5 %", end=ends), lambda one: one.days_at_risk),
        (say("Half of the charge left"), lambda one: one.days_to_half_charge),
    ]
    if answer.case.unit.fitted and starts:
        rows.append((say("Added unit goes silent"), lambda one: one.days_to_unit_off))
    rows += [
        (say("Electrolyte freezes"), lambda one: one.days_to_freezing),
        (say("Battery empty"), lambda one: one.days_to_empty),
    ]
    horizon = answer.case.horizon_days
    table = []
    for name, days_of in rows:
        days = days_of(answer)
        row = {
            say("what ends"): name,
            say("after"): said(days_words(days, horizon)),
            say("on"): on_date(answer.case.site.parked_from, days),
        }
        if baseline is not None:
            before = days_of(baseline)
            row[say("before")] = said(days_words(before, baseline.case.horizon_days))
            change = difference_words(before, days, horizon)
            row[say("change")] = say("no change") if before == days else said(change)
        table.append(row)
    return pd.DataFrame(table)


def on_date(parked_from: dt.date, days: float | None) -> str:
    """Return the day a stand ends, "" when it does not within the horizon.

    Examples
    --------
    >>> on_date(dt.date(2026, 12, 1), 35.7), on_date(dt.date(2026, 12, 1), None)
    ('5 Jan 2027', '')
    """
    if days is None:
        return ""
    return said(short_date(date_after(parked_from, days)))


def temperature_table(answer: ParkAnswer) -> pd.DataFrame:
    """Return the four effects of temperature, one column per temperature."""
    columns = {}
    for effect in answer.temperature_effects:
        freezing = effect.freezing_half_c
        heading = say("{name}, {cold}", name=say(effect.name), cold=Celsius(effect.temperature_c))
        columns[heading] = [
            f"{effect.deliverable_20h_ah:.0f} Ah",
            say(
                "{available:.0f} A of {needed:.0f} A needed",
                available=effect.cranking_available_a,
                needed=effect.cranking_demand_a,
            ),
            say("{percent:.1f} % a month", percent=effect.self_discharge_percent_per_month),
            say("no liquid to freeze")
            if freezing is None
            else say("{temperature}", temperature=Celsius(freezing)),
        ]
    names = [
        say("Charge it delivers in 20 h (comes back when warm)"),
        say(
            "Current for {what}, full battery", what=say(answer.temperature_effects[0].current_for)
        ),
        say("Self-discharge (does not come back)"),
        say("Freezes at half charge below"),
    ]
    table = pd.DataFrame({say("effect"): names, **columns})
    return table if answer.case.vehicle.starts else table.drop(index=_CRANKING_ROW)


def swing_table(answer: ParkAnswer) -> pd.DataFrame:
    """Return every input's swing and what would pin it down."""
    horizon = answer.case.horizon_days
    return pd.DataFrame(
        [
            {
                say("input"): say(swing.label),
                say("from"): say(swing.low_value),
                say("to"): say(swing.high_value),
                say("days at from"): said(days_words(swing.days_at_low, horizon)),
                say("days at to"): said(days_words(swing.days_at_high, horizon)),
                say("what would pin it down"): say(swing.advice),
            }
            for swing in answer.swings
        ]
    )


def assumptions_table(case: Case) -> pd.DataFrame:
    """Return every value used, with its unit, origin and source."""
    return pd.DataFrame(
        {
            say("name"): label_of_key(item.name),
            say("value"): in_words(shown(item.value)),
            say("unit"): say(item.unit),
            say("origin"): say(item.origin),
            say("source"): in_words(item.source),
        }
        for item in case.assumptions
    )


def label_of_key(key: str) -> str:
    """Return what a page calls a key of the scenario: its label, or its own words.

    Examples
    --------
    >>> label_of_key("battery.age_years"), label_of_key("uncertainty.oil_sd_k")
    ('Battery age', 'uncertainty: oil sd k')
    """
    parameter = PARAMETERS.get(key)
    if parameter is not None and parameter.label:
        return say(parameter.label)
    return say(in_words(key.replace(".", ": ")))


def said_words(text: object) -> str:
    """Return what a page says for a word of a file or for a text of an answer."""
    return say(text if isinstance(text, Message) else in_words(text))


def battery_words(key: str) -> str:
    """Return what a page calls a battery profile; one from a file of its own by its key."""
    return said_words(short_battery(load_profile(key).name) if key in list_profiles() else key)


def in_words(text: object) -> str:
    """Return a text without the underscores of keys."""
    return str(text).replace("_", " ")
