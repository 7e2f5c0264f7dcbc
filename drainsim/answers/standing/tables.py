"""Answers as tables: the daily course for a spreadsheet."""

import datetime as dt
from typing import Final

from drainsim.answers.standing.park import ParkAnswer

_COLUMNS: Final = {  # of the course: heading
    "date": "date",
    "probability_no_start": "probability_no_start",
    "probability_failed_by": "probability_failed_by_then",
    "charge": "state_of_charge",
    "charge_low": "state_of_charge_p10",
    "charge_high": "state_of_charge_p90",
    "margin": "start_margin",
    "margin_low": "start_margin_p10",
    "margin_high": "start_margin_p90",
    "temperature_c": "battery_temperature_c",
}
COURSE_HEADING: Final = ("day", *_COLUMNS.values())


def course_csv(answer: ParkAnswer) -> str:
    """Return the state at every start hour as CSV text."""
    frame, parked = answer.to_frame(), answer.case.site.parked_from
    frame.index = frame.index.astype(int)
    frame["date"] = [parked + dt.timedelta(days=day) for day in frame.index]
    table = frame[list(_COLUMNS)].rename(columns=_COLUMNS)
    return table.to_csv(float_format="%.5g", lineterminator="\n")
