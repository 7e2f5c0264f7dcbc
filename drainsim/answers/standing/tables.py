"""Answers as tables: the daily course for a spreadsheet."""

import csv
import datetime as dt
import io

from drainsim.answers.standing.park import ParkAnswer

COURSE_HEADING = (
    "day",
    "date",
    "probability_no_start",
    "probability_failed_by_then",
    "state_of_charge",
    "state_of_charge_p10",
    "state_of_charge_p90",
    "start_margin",
    "start_margin_p10",
    "start_margin_p90",
    "battery_temperature_c",
)


def course_csv(answer: ParkAnswer) -> str:
    """Return the state at every start hour as CSV text."""
    course, parked = answer.course, answer.case.site.parked_from
    columns = (
        course.probability_no_start,
        course.probability_failed_by,
        course.charge,
        course.charge_low,
        course.charge_high,
        course.margin,
        course.margin_low,
        course.margin_high,
        course.temperature_c,
    )
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COURSE_HEADING)
    for day in range(len(course.day)):
        date = (parked + dt.timedelta(days=day)).isoformat()
        writer.writerow([day, date, *(f"{column[day]:.5g}" for column in columns)])
    return out.getvalue()
