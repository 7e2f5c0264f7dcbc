"""The weekly answer in plain words, the same in every window."""

from typing import Final

from drainsim.answers.driving.charge_left import driving_pattern
from drainsim.answers.driving.week import WeekAnswer, parts_of
from drainsim.language import Message, marked, message
from drainsim.simulation.driving.week import BROUGHT, DrivingBalance

PARTS: Final = {
    "charged": marked("charged while driving"),
    "charged_parked": marked("panel, maintainer, top-ups"),
    "efficiency_loss": marked("lost while charging (efficiency)"),
    "refused": marked("refused, already full"),
    "cranked": marked("starting"),
    "drawn_driving": marked("drawn at idle and by screens"),
    "key_off": marked("key-off until asleep"),
    "vehicle": marked("vehicle asleep"),
    "unit": marked("added unit"),
    "other": marked("other loads"),
    "lost": marked("self-discharge"),
    "net": marked("net"),
}
_IN: Final = frozenset({*BROUGHT, "net"})


def signed_parts(balance: DrivingBalance) -> dict[str, float]:
    """Return a week's parts in the order of `PARTS`, what goes out with a minus. [Ah/week]."""
    values = parts_of(balance)
    return {name: values[name] if name in _IN else -values[name] for name in PARTS}


def more_driving_words(answer: WeekAnswer) -> Message:
    """Return "12 min a week more keep 80 %", "not needed" or that none is enough."""
    target = 100 * driving_pattern(answer.case).target_charge
    extra = answer.extra_minutes_per_week
    if extra == 0.0:
        return message("not needed: the charge stays above {target:.0f} %", target=target)
    if extra is not None:
        return message(
            "{minutes:.0f} min a week more, spread over the trips, keep {target:.0f} %",
            minutes=extra,
            target=target,
        )
    if answer.longest_extra_tried == 0.0:
        return message("there are no trips that could be made longer")
    return message(
        "even {minutes:.0f} min a week more do not keep {target:.0f} %: {limit}",
        minutes=answer.longest_extra_tried,
        target=target,
        limit=answer.limited_by,
    )


def week_verdict(answer: WeekAnswer) -> Message:
    """Return the answer in one sentence."""
    pattern = driving_pattern(answer.case)
    driven = pattern.spelled_out()
    if answer.first_failed_week is not None:
        return message(
            "With {driven}, the battery walks down and a start fails in week {week}: this driving "
            "does not keep it charged.",
            driven=driven,
            week=answer.first_failed_week,
        )
    low, target = answer.lowest_charge, pattern.target_charge
    if low >= target:
        return message(
            "With {driven}, the charge stays above {low:.0f} %: the driving keeps the battery "
            "charged.",
            driven=driven,
            low=100 * low,
        )
    return message(
        "With {driven}, the charge falls to {low:.0f} %, below the {target:.0f} % a battery should "
        "keep: this driving takes more than it returns in the worst weeks.",
        driven=driven,
        low=100 * low,
        target=100 * target,
    )
