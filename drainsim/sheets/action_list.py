"""The fleet's action list as one printable page, without scripts or outside parts."""

from collections.abc import Mapping
from html import escape

from drainsim import __version__
from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_actions import Action
from drainsim.answers.words import counted
from drainsim.sheets.html_page import page_begin

_MOST_ROWS = 2000

_STYLE = """
@page { size: A4 landscape; margin: 12mm }
body { font: 10pt/1.35 system-ui, sans-serif; color: #111; margin: 1.5em auto; max-width: 75em }
h1 { font-size: 17pt; margin: 0 0 .2em } p { margin: .3em 0 }
table { border-collapse: collapse; width: 100%; margin: .8em 0 }
th, td { text-align: left; vertical-align: top; padding: .25em .5em; border-bottom: 1px solid #bbb }
th { border-bottom: 2px solid #111 } td.n { text-align: right; white-space: nowrap }
tr { break-inside: avoid } thead { display: table-header-group }
.note { border: 1.5px solid #111; padding: .5em .8em; margin: .8em 0 }
.box { display: inline-block; width: .9em; height: .9em; border: 1.5px solid #111 }
"""


def action_list_html(answer: FleetAnswer, actions: Mapping[str, Action]) -> str:
    """Return a self-contained HTML page: who, where, by when, what to do, why.

    Every text that came from the list is escaped.
    """
    acting = [vehicle for vehicle in answer.vehicles if vehicle.act_by is not None]
    rows = []
    for vehicle in acting[:_MOST_ROWS]:
        action = actions.get(vehicle.id)
        now = " (today)" if vehicle.act_by == answer.settings.today else ""
        after = f"{100 * action.risk_after:.0f} %" if action else "–"
        rows.append(
            "<tr><td><span class=box></span></td>"
            f"<td>{escape(vehicle.id)}</td><td>{escape(vehicle.depot)}</td>"
            f"<td>{vehicle.act_by}{now}</td>"
            f"<td>{escape(action.words if action else 'look after the battery')}</td>"
            f"<td class=n>{100 * vehicle.risk_today:.0f} %</td><td class=n>{after}</td>"
            f"<td class=n>{_days(vehicle.days_left_p10)} to {_days(vehicle.days_left_p90)}</td>"
            f"<td>{escape(vehicle.cause)}</td>"
            f"<td class=n>{100 * vehicle.assumed_share:.0f} %</td></tr>"
        )
    summary = "".join(
        f"<p>On {day.date}: {day.count.expected:.1f} no-starts expected "
        f"(8 in 10 cases {day.count.p10} to {day.count.p90})"
        + (
            f", {answer.call_out_price * day.count.expected:,.0f} at "
            f"{answer.call_out_price:g} per call-out"
            if answer.call_out_price is not None
            else ""
        )
        + ".</p>"
        for day in answer.on_dates
    )
    left_out = (
        f"<p>{len(acting) - _MOST_ROWS} further vehicles are in vehicles.csv.</p>"
        if len(acting) > _MOST_ROWS
        else ""
    )
    aside = len({problem.row for problem in answer.problems})
    return (
        page_begin(f"Action list {answer.settings.today}", _STYLE)
        + f"<h1>Parked vehicles: action list of {answer.settings.today}</h1>"
        f"<p>{counted(len(answer.vehicles), 'vehicle')} answered, {len(acting)} "
        f"{'needs' if len(acting) == 1 else 'need'} someone to act within "
        f"{answer.settings.days_ahead} days at a risk limit of {100 * answer.risk:g} %; "
        f"{counted(aside, 'row')} of the list kept aside to be corrected.</p>{summary}"
        "<div class=note>Before touching a battery: no flame or spark, ventilate, wear eye "
        "protection. A deeply discharged battery can freeze: never charge or jump-start a frozen "
        "one. On hybrid and electric vehicles leave orange cables alone. The vehicle maker's "
        "instructions, local rules and trained staff come first.</div>"
        "<table><thead><tr><th>done<th>vehicle<th>depot<th>act by<th>what to do<th>risk today"
        "<th>risk after<th>days left (8 in 10 cases)<th>why<th>assumed</tr></thead><tbody>"
        f"{''.join(rows)}</tbody></table>{left_out}"
        f"<p>drainsim {__version__}, {answer.settings.draws} random cases, seed "
        f"{answer.settings.seed}. "
        "“Assumed” is the share of key inputs that the list does not give. Risks are chances of a "
        "no-start at the vehicle's start hour.</p></body></html>"
    )


def _days(days: float | None) -> str:
    return "more" if days is None else f"{days:.0f}"
