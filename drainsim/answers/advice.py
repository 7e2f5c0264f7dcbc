"""What can be done about a vehicle that will not start: one list for every question and window."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

CHARGE_FULL: Final = "charge_full"  # in a list on the last day it is early enough


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One way: its words, its effort, what it rules out and what it costs besides money.

    `label` holds places for a plan's figures; `label_one`, `label_placed` and `label_pair` are the
    forms for one week, for a panel that lies otherwise than flat and for two like batteries,
    `standing` the form for a vehicle that stands already. `effort` runs from 1 (a flick) to 5 (a
    purchase with work), an opinion that the user may change. Of two ways that share a group only
    one makes sense. `in_lists` says whether it is tried for the vehicles of a list; `tools`,
    `work_h` [h] and `people` are what it takes there, travel not counted, and `charger` says that
    it keeps a charger busy for a day.
    """

    label: str
    effort: int
    groups: frozenset[str] = frozenset()
    lost: str = ""
    label_one: str = ""
    label_placed: str = ""
    label_pair: str = ""
    standing: str = ""
    in_lists: bool = True
    tools: str = ""
    work_h: float = 0.0
    people: int = 1
    charger: bool = False


# Labels, efforts, what is lost and what it takes: common practice, no source.
ADVICE: Final[Mapping[str, Advice]] = {
    "slower_reports": Advice(
        label="let the unit report every {interval_h:.0f} h",
        effort=1,
        groups=frozenset({"unit"}),
        lost="position only every {interval_h:.0f} h",
        tools="a desk: the setting is sent to the unit",
        work_h=0.1,
    ),
    "storage_mode": Advice(
        label="put the unit into storage mode: one report every {interval_h:.0f} h, no listening "
        "in between",
        effort=1,
        groups=frozenset({"unit"}),
        lost="position only every {interval_h:.0f} h; the unit cannot be reached between",
        tools="a desk: the setting is sent to the unit",
        work_h=0.1,
    ),
    CHARGE_FULL: Advice(
        label="charge the battery fully before parking",
        standing="charge the battery fully",
        effort=1,
        groups=frozenset({"charge"}),
        tools="a charger",
        work_h=0.5,
        charger=True,
    ),
    "ladder": Advice(
        label="let the unit report every {first_h:.0f} h below {first_v:.2f} V and every "
        "{second_h:.0f} h below {second_v:.2f} V",
        effort=2,
        groups=frozenset({"unit"}),
        lost="fewer positions as the battery falls",
        in_lists=False,
    ),
    "cutoff": Advice(
        label="let the unit switch itself off below {cutoff_v:.2f} V",
        effort=2,
        groups=frozenset({"unit"}),
        lost="no position and no alarm of the unit once it is off",
        in_lists=False,
    ),
    "unit_off": Advice(
        label="disconnect the unit",
        effort=3,
        groups=frozenset({"unit"}),
        lost="no position and no alarm of the unit",
        tools="hand tools",
        work_h=0.5,
    ),
    "maintainer": Advice(
        label="connect a maintainer of {current_a:.1f} A (needs a socket)",
        effort=3,
        groups=frozenset({"maintainer"}),
        tools="a maintainer and a socket",
        work_h=0.5,
    ),
    "visits": Advice(
        label="visit every {weeks:.0f} weeks and charge the battery fully",
        label_one="visit every week and charge the battery fully",
        effort=4,
        groups=frozenset({"visits"}),
        in_lists=False,
    ),
    "panel": Advice(
        label="lay out a solar panel of {panel_w:.0f} W, flat and in the open",
        label_placed="lay out a solar panel of {panel_w:.0f} W, tilted {tilt_deg:.0f}° toward the "
        "equator, {shaded:.0f} % of its sunshine lost to shade",
        effort=4,
        groups=frozenset({"panel"}),
        in_lists=False,
    ),
    "shelter": Advice(
        label="park it where it stays above {shelter_c}",
        effort=4,
        groups=frozenset({"panel", "oil", "battery_warmth"}),
        tools="a place that stays above {shelter_c}",
        work_h=0.5,
    ),
    "disconnect": Advice(  # a spanner, and what is lost
        label="disconnect the battery after parking",
        standing="disconnect the battery",
        effort=4,
        groups=frozenset({"unit"}),
        lost="no position, no alarm, no central locking; clock and settings may be lost",
        tools="a spanner",
        work_h=0.25,
    ),
    "block_heater": Advice(
        label="fit an engine block heater and plug it in {before_h:.0f} h before the start (needs "
        "a socket)",
        effort=4,
        groups=frozenset({"oil"}),
        tools="a block heater, a workshop and a socket",
        work_h=2.0,
    ),
    "battery_heater": Advice(
        label="fit a battery heater and plug it in {before_h:.0f} h before the start (needs a "
        "socket)",
        effort=4,
        groups=frozenset({"battery_warmth"}),
        tools="a battery heater and a socket",
        work_h=1.0,
    ),
    "battery_indoors": Advice(
        label="take the battery indoors (above {indoors_c}), keep it charged there and fit "
        "it again on the day of the start",
        effort=4,
        groups=frozenset({"unit", "charge", "battery_warmth", "maintainer", "visits", "panel"}),
        lost="no position, no alarm, no central locking; clock and settings may be lost",
        tools="a spanner, a charger and a heated room",
        work_h=1.0,
        charger=True,
    ),
    "new_battery": Advice(
        label="fit a new, charged battery of the same size",
        label_pair="fit two new, charged batteries of the same size",
        effort=5,
        groups=frozenset({"battery", "charge"}),
        tools="a spanner",
        work_h=0.5,
    ),
    "larger_battery": Advice(
        label="fit a new, charged battery of {capacity_ah:.0f} Ah (if it fits the tray)",
        label_pair="fit two new, charged batteries of {capacity_ah:.0f} Ah each (if they fit the "
        "tray)",
        effort=5,
        groups=frozenset({"battery", "charge"}),
        in_lists=False,
    ),
}


def label_of(key: str, figures: Mapping[str, float], *, standing: bool = False) -> str:
    """Return the label with places for its figures, as these ask for it.

    `standing` asks for the words for a vehicle that stands already.

    Examples
    --------
    >>> label_of("visits", {"weeks": 1.0})
    'visit every week and charge the battery fully'
    >>> label_of("charge_full", {}, standing=True)
    'charge the battery fully'
    """
    advice = ADVICE[key]
    if advice.label_one and figures.get("weeks") == 1.0:
        return advice.label_one
    if advice.label_pair and figures.get("batteries") == 2.0:
        return advice.label_pair
    if advice.label_placed and (figures.get("tilt_deg") or figures.get("shaded")):
        return advice.label_placed
    return advice.standing or advice.label if standing else advice.label
