"""The weekly answer in plain words, the same in every window."""

from typing import Final

from drainsim.answers.driving.charge_left import driving_pattern
from drainsim.answers.driving.week import WeekAnswer, parts_of
from drainsim.simulation.week import BROUGHT, DrivingBalance

PARTS: Final = {
    "charged": "charged while driving",
    "charged_parked": "panel, maintainer, top-ups",
    "efficiency_loss": "lost while charging (efficiency)",
    "refused": "refused, already full",
    "cranked": "starting",
    "drawn_driving": "drawn at idle and by screens",
    "key_off": "key-off until asleep",
    "vehicle": "vehicle asleep",
    "unit": "added unit",
    "other": "other loads",
    "lost": "self-discharge",
    "net": "net",
}
_IN: Final = frozenset({*BROUGHT, "net"})


def signed_parts(balance: DrivingBalance) -> dict[str, float]:
    """Return a week's parts in the order of `PARTS`, what goes out with a minus. [Ah/week]."""
    values = parts_of(balance)
    return {name: values[name] if name in _IN else -values[name] for name in PARTS}


def more_driving_words(answer: WeekAnswer) -> str:
    """Return "12 min a week more keep 80 %", "not needed" or that none is enough."""
    target = f"{100 * driving_pattern(answer.case).target_charge:.0f} %"
    extra = answer.extra_minutes_per_week
    if extra == 0.0:
        return f"not needed: the charge stays above {target}"
    if extra is None:
        if answer.longest_extra_tried == 0.0:
            return "there are no trips that could be made longer"
        return (
            f"even {answer.longest_extra_tried:.0f} min a week more do not keep {target}: "
            f"{answer.limited_by}"
        )
    return f"{extra:.0f} min a week more, spread over the trips, keep {target}"


def week_verdict(answer: WeekAnswer) -> str:
    """Return the answer in one sentence."""
    pattern = driving_pattern(answer.case)
    driven = pattern.spelled_out()
    if answer.first_failed_week is not None:
        return (
            f"With {driven}, the battery walks down and a start fails in week "
            f"{answer.first_failed_week}: this driving does not keep it charged."
        )
    low, target = answer.lowest_charge, pattern.target_charge
    if low >= target:
        return (
            f"With {driven}, the charge stays above {100 * low:.0f} %: the driving keeps the "
            "battery charged."
        )
    return (
        f"With {driven}, the charge falls to {100 * low:.0f} %, below the {100 * target:.0f} % a "
        "battery should keep: this driving takes more than it returns in the worst weeks."
    )
