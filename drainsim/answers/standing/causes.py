"""What ends a stand, and in how many of the possible cases."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from drainsim.language import Celsius, Message, joined, message
from drainsim.physics.tables import BoolArray, FloatArray
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.standing.stand import Stand
from drainsim.units import HOURS_PER_DAY, percent_from_share
from drainsim.vehicle.case import Case

_AT_ONCE: Final = "at_once"
_LATER: Final = "later"
_NONE: Final = "none"
_HARDLY: Final = 0.005  # a share that would be rounded to none or all


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One way a stand ends.

    key: for JSON; share: of the draws that end so, 0 to 1; words: for people.
    """

    key: str
    share: float
    words: Message


def causes(drawn: Stand, curves: BatteryCurves, case: Case) -> tuple[Cause, ...]:
    """Return what ends the draws' stands, the most frequent first; their shares sum to 1.

    Parameters
    ----------
    drawn : Stand, traced
    curves : BatteryCurves, of its battery
    case : Case

    Notes
    -----
    Each draw has one cause, the first of these that holds at its no-start: frozen; the battery's
    own protection had disconnected (a vehicle nobody starts: the unit's cut-off, else empty); too
    weak already when parked; too weak later.
    """
    ended_h = drawn.no_start_h
    ended = np.isfinite(ended_h)
    starts = case.vehicle.starts
    found = {"freezing": ended & (drawn.freezing_h <= ended_h)}
    if starts and curves.lowest_charge > 0.0:
        found["protection"] = drawn.empty_h <= ended_h
    if not starts:
        found["unit_cut_off"] = drawn.unit_off_h <= ended_h
        found["empty"] = ended
    found |= {_AT_ONCE: ended_h == 0.0, _LATER: ended, _NONE: ~ended}
    left = np.ones(len(ended_h), dtype=bool)
    rows = []
    for key, holds in found.items():
        here = holds & ended & left if key != _NONE else left
        left = left & ~here
        if here.any():
            words = _words(key, case, drawn, here)
            rows.append(Cause(key=_key(key, case), share=float(here.mean()), words=words))
    return tuple(sorted(rows, key=lambda cause: -cause.share))


def causes_in_words(found: Sequence[Cause]) -> Message:
    """Return what ends the stands with the share of each, in words.

    Examples
    --------
    >>> empty, later = message("an empty battery"), message("nothing within {days} days", days=180)
    >>> causes_in_words([Cause(key="empty", share=1.0, words=empty)])
    'an empty battery in all cases'
    >>> rest = Cause(key="none", share=0.001, words=later)
    >>> causes_in_words([Cause(key="empty", share=0.999, words=empty), rest])
    'an empty battery in over 99 % of the cases; nothing within 180 days in under 1 %'
    """
    first, *others = found
    if not others:
        return message("{cause} in all cases", cause=first.words)
    whole = message(
        "{cause} in {share} of the cases", cause=first.words, share=_percent(first.share)
    )
    rest = [message("{cause} in {share}", cause=o.words, share=_percent(o.share)) for o in others]
    return joined("; ", [whole, *rest])


def _percent(share: float) -> Message:
    if _HARDLY <= share <= 1.0 - _HARDLY:
        return message("{percent:.0f} %", percent=percent_from_share(share))
    return message("under 1 %" if share < _HARDLY else "over 99 %")


def _key(key: str, case: Case) -> str:
    """Return the name in JSON: what was short, and whether it was from the beginning."""
    if key not in {_AT_ONCE, _LATER}:
        return key
    short = "cranking_power" if case.vehicle.turns_engine else "voltage_for_contactors"
    return short if key == _LATER else f"{short}_at_once"


def _words(key: str, case: Case, drawn: Stand, here: BoolArray) -> Message:
    short = message("cranking power" if case.vehicle.turns_engine else "voltage for the contactors")
    if key == _LATER:
        return message("{short} ({state})", short=short, state=_state(drawn, here))
    return {
        "freezing": message("frozen electrolyte (a hazard: never charge or jump-start it)"),
        "protection": message("the battery's own protection disconnecting it"),
        "unit_cut_off": message("the unit's own cut-off voltage"),
        "empty": message("an empty battery"),
        _AT_ONCE: message("{short} too small from the start", short=short),
        _NONE: message("nothing within {days} days", days=case.horizon_days),
    }[key]


def _state(drawn: Stand, here: BoolArray) -> Message:
    """Return the medians of some draws at the start hour nearest to their no-start."""
    if drawn.trace is None:
        raise ValueError("a cause needs a traced stand")
    lanes = np.flatnonzero(here)
    last = len(drawn.trace.charge) - 1
    day = np.minimum(np.rint(drawn.no_start_h[lanes] / HOURS_PER_DAY).astype(int), last)

    def median(values: FloatArray) -> float:
        return float(np.median(values[day, lanes]))

    temperature = Celsius(median(drawn.trace.temperature_c))
    if np.median(drawn.no_start_h[lanes]) < HOURS_PER_DAY:  # charge is known by the day only
        return message("at about {temperature}, within hours", temperature=temperature)
    return message(
        "median: {temperature}, {percent:.0f} % charge left",
        temperature=temperature,
        percent=percent_from_share(median(drawn.trace.charge)),
    )
