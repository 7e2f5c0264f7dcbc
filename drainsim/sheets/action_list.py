"""The fleet's action list as one printable page, without scripts or outside parts."""

import datetime as dt
from collections.abc import Mapping

from drainsim import __version__
from drainsim.answers.fleet.action import Action, instruction
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.counts import DayRisk
from drainsim.answers.fleet.fleet_vehicle import VehicleAnswer
from drainsim.answers.words import counted
from drainsim.sheets.html_page import page
from drainsim.units import whole_percent

_MOST_ROWS = 2000


def action_list_html(answer: FleetAnswer, actions: Mapping[str, Action]) -> str:
    """Return a self-contained HTML page: who, where, by when, what with what, to what end.

    Every text that came from the list is escaped.
    """
    settings = answer.settings
    acting = [vehicle for vehicle in answer.vehicles if vehicle.needs_someone]
    aside = len({problem.row for problem in answer.problems})
    return page(
        "actions.html",
        title=f"Action list {settings.today}",
        today=settings.today,
        answered=counted(len(answer.vehicles), "vehicle"),
        needing=answer.needing,
        days_ahead=settings.days_ahead,
        limit=f"{100 * answer.risk:g}",
        aside=counted(aside, "row"),
        summary=[_day_words(day, answer.call_out_price) for day in answer.on_dates],
        rows=[
            _row(vehicle, actions.get(vehicle.id), settings.today)
            for vehicle in acting[:_MOST_ROWS]
        ],
        left_out=max(len(acting) - _MOST_ROWS, 0),
        version=__version__,
        draws=settings.draws,
        seed=settings.seed,
    )


def _row(vehicle: VehicleAnswer, action: Action | None, today: dt.date) -> dict[str, object]:
    now = " (today)" if vehicle.act_by == today else ""
    return {
        "id": vehicle.id,
        "depot": vehicle.depot,
        "act_by": f"{vehicle.act_by}{now}",
        "action": instruction(vehicle, action),
        "takes": action.takes if action else "a charger",
        "effect": action.effect if action else f"risk today: {whole_percent(vehicle.risk_today)} %",
        "days_left": f"{_days(vehicle.days_left_p10)} to {_days(vehicle.days_left_p90)}",
        "cause": vehicle.cause,
        "assumed": f"{whole_percent(vehicle.assumed_share)} %",
    }


def _day_words(day: DayRisk, call_out_price: float | None) -> str:
    count = day.count
    cost = (
        f", {call_out_price * count.expected:,.0f} at {call_out_price:g} per call-out"
        if call_out_price is not None
        else ""
    )
    return (
        f"On {day.date}: {count.expected:.1f} no-starts expected "
        f"(8 in 10 cases {count.p10} to {count.p90}){cost}."
    )


def _days(days: float | None) -> str:
    return "more" if days is None else f"{days:.0f}"
