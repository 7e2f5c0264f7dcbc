"""Does the unit draw what its budget allows: before and after, with the meter's uncertainty?"""

import math
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from drainsim.answers.installer.acceptance_checks import CANNOT_TELL, FAIL, PASS, JobCheck
from drainsim.answers.installer.current_log_words import known_places, ma, plus_minus
from drainsim.language import Message, marked, message
from drainsim.vehicle.case import Case
from drainsim.vehicle.documents.job_record import JobRecord
from drainsim.vehicle.documents.job_tables import BUDGET, METER, READINGS
from drainsim.vehicle.unit import UNIT

# Published waits run from 40 s to 60 min; a single reading counts from 45 min on.
ASLEEP_MIN: Final = 45.0
DEFAULT_TOLERANCE_SHARE: Final = 0.25  # as the spread of a unit's draw: common practice, no source
_FINEST_A: Final = 1e-7  # a tenth of a microampere: below any meter
_TOO_LITTLE_SHARE: Final = 0.25  # below this share of its budget a unit may not be running at all
SAID: Final = {"before": marked("before"), "after": marked("after")}  # a reading, in words
# In the order of what costs least and rules out most: common practice, no source.
_TOO_MUCH: Final = (
    message(
        "read both again an hour after locking, doors and bonnet latched, key away: a vehicle "
        "still awake looks like a hungry unit"
    ),
    message(
        "sense wire: 0 V with the key off? With a voltage on it the unit believes the key is on "
        "and stays awake"
    ),
    message(
        "pull the unit's own fuse and read once more: if the vehicle does not fall back to its "
        "reading before, something else stays awake"
    ),
    message(
        "measure in series with the unit's own fuse. Above its budget it is the unit: reception, "
        "reports per day, its settings, a fault of its own. Within its budget the circuit keeps a "
        "control unit awake: feed it from another point, the battery with a fuse of its own"
    ),
    message("read again and add it to the record under retests: the first test stays beside it"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredDraw:
    """A settled current with its uncertainty, from a meter or a log; None where not known."""

    settled_a: float | None
    uncertainty_a: float | None
    mean_a: float | None
    asleep: bool | None  # None: not said
    from_log: bool
    notes: tuple[str, ...] = ()

    @property
    def drawn_a(self) -> float | None:
        """Return what is drawn over days: the mean where it is known, else the settled current.

        None of a vehicle that was not asleep: that current does not last.
        """
        if self.asleep is False:
            return None
        return self.settled_a if self.mean_a is None else self.mean_a


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawCheck:
    """The difference and the budget it is held against."""

    check: JobCheck
    compared: str  # "sleep" or "mean"
    vehicle_a: float | None  # what the vehicle draws without the unit; None: not known
    vehicle_is_mean: bool  # its wake-ups are in that
    difference_a: float | None  # None: not known, or of readings that do not compare
    uncertainty_a: float | None
    budget_a: float
    limit_a: float
    sleep_budget_a: float
    mean_budget_a: float
    measured_mean_a: float | None
    explained: str

    def as_dict(self) -> dict[str, Any]:
        """Return the check as JSON-ready data."""
        return {
            **self.check.as_dict(),
            "compared": self.compared,
            "difference_a": self.difference_a,
            "uncertainty_a": self.uncertainty_a,
            "budget_a": self.budget_a,
            "limit_a": self.limit_a,
            "sleep_budget_a": self.sleep_budget_a,
            "mean_budget_a": self.mean_budget_a,
            "measured_mean_a": self.measured_mean_a,
            "explained": self.explained,
        }


def reading_from_table(record: JobRecord, name: str) -> MeasuredDraw:
    """Return the reading of a record's [before] or [after] table."""
    keys = READINGS[name]
    settled = record.number(keys.settled_a)
    given = record.number(keys.uncertainty_a)
    minutes = record.number(keys.minutes_after_key_off)
    resolution = record.number(METER.resolution_a)
    uncertainty = given
    if uncertainty is None and settled is not None and resolution is not None:
        accuracy = (record.number(METER.accuracy_percent) or 0.0) / 100.0
        counts = record.number(METER.counts) or 0.0
        uncertainty = accuracy * abs(settled) + (counts + 0.5) * resolution
    mean = record.number(keys.mean_a)  # of a log, which shows itself that it sleeps
    return MeasuredDraw(
        settled_a=settled,
        uncertainty_a=uncertainty,
        mean_a=mean,
        asleep=None if minutes is None else mean is not None or minutes >= ASLEEP_MIN,
        from_log=False,
    )


def _unit_budget(record: JobRecord, case: Case) -> tuple[float, float]:
    """Return the unit's sleep and mean budget: the record's, else the scenario's. [A, A].

    A switching supply draws half of its scenario's current, told at 12 V, from both of a 24 V pair.
    """
    values = {item.name: item.value for item in case.assumptions}
    idle = float(values.get(UNIT.sleep_a) or 0.0) + float(values.get(UNIT.listening_a) or 0.0)
    idle, mean = case.unit.drawn_a(idle), case.unit.normal_current_a
    sleep_given, mean_given = record.number(BUDGET.sleep_a), record.number(BUDGET.mean_a)
    if sleep_given is None and mean_given is None:
        return idle, mean
    if sleep_given is None:
        return float(mean_given or 0.0), float(mean_given or 0.0)
    return sleep_given, mean_given if mean_given is not None else max(mean, sleep_given)


def draw_check(
    record: JobRecord, case: Case, *, before: MeasuredDraw, after: MeasuredDraw
) -> DrawCheck:
    """Return whether the measured difference fits the budget.

    What is not of a sleeping vehicle is no difference: neither a number nor a cause comes of it.
    """
    sleep_a, mean_a = _unit_budget(record, case)
    tolerance = record.number(BUDGET.tolerance_share)
    tolerance = DEFAULT_TOLERANCE_SHARE if tolerance is None else tolerance
    by_mean = before.mean_a is not None and after.mean_a is not None
    budget = mean_a if by_mean else sleep_a
    limit = budget * (1.0 + tolerance)
    pair = (before.mean_a, after.mean_a) if by_mean else (before.settled_a, after.settled_a)
    difference = uncertainty = None
    unreadable = _unreadable(before, after)
    if unreadable is None and pair[0] is not None and pair[1] is not None:
        difference = pair[1] - pair[0]
        if before.uncertainty_a is not None and after.uncertainty_a is not None:
            uncertainty = math.hypot(before.uncertainty_a, after.uncertainty_a)
    check = _judge(
        unreadable,
        difference=difference,
        uncertainty=uncertainty,
        budget=budget,
        limit=limit,
        what=message("mean") if by_mean else message("sleep"),
    )
    measured_mean = None
    if difference is not None and check.verdict != CANNOT_TELL:
        measured_mean = difference if by_mean else difference + max(mean_a - sleep_a, 0.0)
        measured_mean = max(measured_mean, 0.0)
    return DrawCheck(
        check=check,
        compared="mean" if by_mean else "sleep",
        vehicle_a=None if _fell(difference, uncertainty) else before.drawn_a,
        vehicle_is_mean=before.mean_a is not None,
        difference_a=difference,
        uncertainty_a=uncertainty,
        budget_a=budget,
        limit_a=limit,
        sleep_budget_a=sleep_a,
        mean_budget_a=mean_a,
        measured_mean_a=measured_mean,
        explained=_explained(check, difference, uncertainty, sleep_a, mean_a, by_mean=by_mean),
    )


def _fell(difference: float | None, uncertainty: float | None) -> bool:
    """Say whether the second reading is surely below the first, which then was not of sleep."""
    return difference is not None and uncertainty is not None and difference + uncertainty < 0.0


def _judge(
    unreadable: tuple[str, str] | None,
    *,
    difference: float | None,
    uncertainty: float | None,
    budget: float,
    limit: float,
    what: str,
) -> JobCheck:
    """Return pass, fail or cannot tell, and what would tell."""
    unit = "A" if difference is not None else ""
    check = partial(JobCheck, name=message("draw of the unit"), value=difference, unit=unit)
    if unreadable is not None:
        return check(verdict=CANNOT_TELL, text=unreadable[0], would_tell=unreadable[1])
    if difference is None or uncertainty is None:
        return check(
            verdict=CANNOT_TELL,
            text=message("the meter's uncertainty is not known"),
            would_tell=message("the resolution and accuracy from the meter's manual, under meter"),
        )
    words = message(
        "{current} more with the unit, budget {budget} ({what}), limit {limit}",
        current=plus_minus(difference, uncertainty),
        budget=ma(budget),
        what=what,
        limit=ma(limit),
    )
    lowest, highest = difference - uncertainty, difference + uncertainty
    if _fell(difference, uncertainty):
        return check(
            verdict=CANNOT_TELL,
            text=message(
                "{drawn}: less than before, so the vehicle was not asleep in the first reading",
                drawn=words,
            ),
            would_tell=message("both readings again, an hour after key off"),
        )
    if lowest > limit:
        text = message("{drawn}: it draws too much", drawn=words)
        return check(verdict=FAIL, text=text, to_do=_TOO_MUCH)
    if highest > limit:
        room = abs(limit - difference)
        return check(
            verdict=CANNOT_TELL,
            text=message("{drawn}: the uncertainty reaches over the limit", drawn=words),
            would_tell=message(
                "a meter good to {current} in each reading, or one in series with the unit's own "
                "fuse, where the vehicle's draw does not count",
                current=ma(float(f"{max(room / 2.0, 1e-5):.1g}")),
            ),
        )
    if difference < _TOO_LITTLE_SHARE * budget:
        return check(
            verdict=CANNOT_TELL,
            text=message(
                "{drawn}: next to nothing, is the unit running and registered?", drawn=words
            ),
            would_tell=message("a report received from the unit, then the reading again"),
        )
    return check(verdict=PASS, text=words)


def _unreadable(before: MeasuredDraw, after: MeasuredDraw) -> tuple[str, str] | None:
    """Return why the readings cannot be compared and what would help; None if they can."""
    for name, reading in (("before", before), ("after", after)):
        if reading.asleep is False:
            why = (
                message("the log ends before the vehicle sleeps")
                if reading.from_log
                else message(
                    "it was read earlier than {minutes:g} min after key off", minutes=ASLEEP_MIN
                )
            )
            return (
                message(
                    "the {name} reading is not of a sleeping vehicle: {why}",
                    name=message(SAID[name]),
                    why=why,
                ),
                message("keep measuring until the vehicle sleeps, 60 min at most"),
            )
        if reading.settled_a is None:
            return (
                message("there is no {name} reading", name=message(SAID[name])),
                message("the settled current without the unit (its fuse pulled) and with it"),
            )
    return None


def _explained(
    check: JobCheck,
    difference: float | None,
    uncertainty: float | None,
    sleep_a: float,
    mean_a: float,
    *,
    by_mean: bool,
) -> Message:
    """Say what the difference is made of; what cannot be told has no cause."""
    if difference is None:
        return message("not known, so no cause can be named")
    reports = ma(max(mean_a - sleep_a, 0.0))
    if by_mean:
        rest = difference - mean_a
        base = message(
            "budget: sleep {sleep}, reports {reports}", sleep=ma(sleep_a), reports=reports
        )
    else:
        rest = difference - sleep_a
        base = message(
            "budget: sleep {sleep}; reports come on top, {reports} on average",
            sleep=ma(sleep_a),
            reports=reports,
        )
    if uncertainty is None:
        return message(
            "{budget}; how far off it is cannot be told without the meter's uncertainty",
            budget=base,
        )
    places = known_places(difference, max(uncertainty, _FINEST_A))
    shown = message(
        "{current:+.{places}f} mA",
        current=round(1000 * rest, places) + 0.0,  # + 0.0: no minus before a zero
        places=places,
    )
    if abs(rest) <= max(uncertainty, _FINEST_A):
        return message(
            "{budget}; the rest of {rest} is within the uncertainty", budget=base, rest=shown
        )
    if check.verdict == CANNOT_TELL:
        return message(
            "{budget}; {rest} is not in it, and no cause can be named yet", budget=base, rest=shown
        )
    cause = (
        message(
            "a control unit kept awake by the circuit, poor reception or more reports than budgeted"
        )
        if rest > 0.0
        else message("the unit sleeps deeper or reports less than budgeted")
    )
    return message("{budget}; {rest} is not in it: {cause}", budget=base, rest=shown, cause=cause)
