"""The fleet's action list as one printable page, without scripts or outside parts."""

import re
from collections.abc import Mapping
from typing import Final

from drainsim import __version__
from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.counts import DayRisk
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import counted
from drainsim.language import Language, Message, language, message
from drainsim.sheets.html_page import page
from drainsim.units import whole_percent

_MOST_ROWS = 2000
_JOINER: Final = "\N{WORD JOINER}"  # no line ends there
_IN_DATE: Final = re.compile(r"(?<=\d)-(?=\d)")


def action_list_html(
    answer: FleetAnswer, actions: Mapping[str, Action], say: Language | None = None
) -> str:
    """Return a self-contained HTML page: who, where, by when, what with what, to what end.

    Every text that came from the list is escaped.

    Parameters
    ----------
    answer : FleetAnswer
    actions : mapping
        What to do, by vehicle.
    say : Language, optional
        English if left out.
    """
    settings, say = answer.settings, say or language("en")
    acting = [vehicle for vehicle in answer.vehicles if vehicle.needs_someone]
    aside = len({problem.row for problem in answer.problems})
    left_out = max(len(acting) - _MOST_ROWS, 0)
    today = settings.today.isoformat()
    return page(
        "actions.html",
        title=say("Action list {today}", today=today),
        language=say.code,
        heading=say("Parked vehicles: action list of {today}", today=today),
        counts=say(
            "{vehicles} answered. {needing} Risk limit {percent:g} %; {rows} of the list kept "
            "aside to be corrected.",
            vehicles=counted(len(answer.vehicles), "vehicle"),
            needing=answer.needing,
            percent=100 * answer.risk,
            rows=counted(aside, "row"),
        ),
        summary=[say(_day_words(day, answer.call_out_price)) for day in answer.on_dates],
        caution=say(
            "Before touching a battery: no flame or spark, ventilate, wear eye protection. A "
            "deeply discharged battery can freeze: never charge or jump-start a frozen one. On "
            "hybrid and electric vehicles leave orange cables alone. The vehicle maker's "
            "instructions, local rules and trained staff come first."
        ),
        columns=[
            say("done"),
            say("vehicle"),
            say("depot"),
            say("act by"),
            say("what to do"),
            say("with what"),
            say("what it saves"),
            say("days left (8 in 10 cases)"),
            say("why"),
            say("assumed"),
        ],
        rows=[
            {"id": one.id, "depot": one.depot}
            | {
                name: _whole(say.said(text))
                for name, text in _row(one, actions.get(one.id), today).items()
            }
            for one in acting[:_MOST_ROWS]
        ],
        left_out=say("{number} further vehicles are in vehicles.csv.", number=left_out)
        if left_out
        else "",
        footer=say(
            "drainsim {version}, {draws} random cases, seed {seed}. “Assumed” is the share of key "
            "inputs that the list does not give. Risks are chances of a no-start at the vehicle's "
            "start hour.",
            version=__version__,
            draws=settings.draws,
            seed=settings.seed,
        ),
    )


def _whole(text: str) -> str:
    """Return a text whose dates and arrows no narrow column breaks.

    Examples
    --------
    >>> _whole("2026-12-01 -> 1 %").replace(_JOINER, "+").replace("\N{NO-BREAK SPACE}", "_")
    '2026-+12-+01 → 1_%'
    """
    whole = _IN_DATE.sub(f"-{_JOINER}", text).replace("->", "→")
    return whole.replace(" %", "\N{NO-BREAK SPACE}%")


def _row(vehicle: VehicleAnswer, action: Action | None, today: str) -> dict[str, str]:
    act_by = str(vehicle.act_by)
    risk = message("risk today: {percent} %", percent=whole_percent(vehicle.risk_today))
    return {
        "act_by": message("{day} (today)", day=act_by) if act_by == today else act_by,
        "action": instruction(vehicle, action),
        "takes": action.takes if action else message("a charger"),
        "effect": action.effect if action else risk,
        "days_left": message(
            "{low} to {high}", low=_days(vehicle.days_left_p10), high=_days(vehicle.days_left_p90)
        ),
        "cause": vehicle.cause,
        "assumed": message("{percent} %", percent=whole_percent(vehicle.assumed_share)),
    }


def _day_words(day: DayRisk, call_out_price: float | None) -> Message:
    count = day.count
    said = message(
        "On {day}: {expected:.1f} no-starts expected (8 in 10 cases {low} to {high})",
        day=str(day.date),
        expected=count.expected,
        low=count.p10,
        high=count.p90,
    )
    if call_out_price is None:
        return message("{sentence}.", sentence=said)
    return message(
        "{sentence}, {cost:,.0f} at {price:g} per call-out.",
        sentence=said,
        cost=call_out_price * count.expected,
        price=call_out_price,
    )


def _days(days: float | None) -> Message:
    return message("more") if days is None else message("{days:.0f}", days=days)
