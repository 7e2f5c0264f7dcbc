"""A resting voltage found after a no-start: does it fit the record, and what if it does not?

A reading that some draws reach weighs them. One that none reaches says more: charge is missing
(or there) that nothing in the record explains. Then the readings, not the unit, are the answer.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from drainsim.language import Message, message
from drainsim.physics.tables import FloatArray
from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.batteries.starting_charge import (
    READ_AT_C,
    READING_SD_V,
    Reading,
    charge_read,
    resting_v,
)
from drainsim.vehicle.documents.complaint import Complaint

# Spread of charge read from a voltage found after the event on one battery's own curve: common
# practice, no source.
_READING_SD: Final = 0.06
_FEWEST_FITTING: Final = 30.0  # draws that must fit a reading for it to say something
_CELLS: Final = {"lithium_iron_phosphate": 4}  # of a 12 V block; lead-acid has 6
# Tests and limits told with the candidates: common practice, no source.
_LEAST_CAPACITY: Final = 0.02  # a share of the label below which "worn" explains nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """One thing that may stand behind readings that do not fit, and the test that tells."""

    name: str
    text: str
    test: str

    def as_dict(self) -> dict[str, Any]:
        """Return the candidate as JSON-ready data."""
        return {"name": self.name, "text": self.text, "test": self.test}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFit:
    """How a voltage found afterwards fits the draws; `end` is the charge it stands for."""

    weights: FloatArray
    used: bool  # it weighs the draws
    fitting: float | None  # draws that fit it; None where nothing was read
    found: FloatArray | None  # charge it means on each draw's own curve, 0 to 1
    notes: tuple[str, ...] = ()

    @property
    def misfits(self) -> bool:
        """Say whether something was read that no draw explains."""
        return self.found is not None and not self.used


def reading_fit(
    complaint: Complaint, battery: Battery, end: FloatArray, offset_v: FloatArray
) -> ReadingFit:
    """Return a weight per draw: how well its charge fits a resting voltage found afterwards.

    Each draw reads the voltage on its own curve, `offset_v` above the profile's. [V].

    Parameters
    ----------
    complaint : Complaint
    battery : Battery
    end : array, shape (draws,)
        Charge at the end of the stand, as a share of full. [-]
    offset_v : array, shape (draws,)
        How far each draw's curve lies above the profile's. [V]
    """
    test = complaint.battery_test
    if "resting_v" not in test:
        return ReadingFit(weights=np.ones(len(end)), used=False, fitting=None, found=None)
    reading = Reading(test["resting_v"], test.get("resting_temperature_c", READ_AT_C))
    found = charge_read(battery.profile, reading, offset_v=offset_v)
    low, middle, high = np.percentile(100.0 * found, [10, 50, 90])
    said = message(
        "resting voltage {volts:g} V found afterwards: about {middle:.0f} % charge ({low:.0f} to "
        "{high:.0f} % between makes)",
        volts=test["resting_v"],
        middle=middle,
        low=low,
        high=high,
    )
    distance = (end - found) / _READING_SD
    weights = np.exp(-0.5 * np.minimum(distance**2, 200.0))
    fitting = float(weights.sum() ** 2 / np.sum(weights**2))
    if fitting < _FEWEST_FITTING or weights.max() < 0.1:
        near = float(np.count_nonzero(np.abs(distance) < 2.0))
        return ReadingFit(
            weights=np.ones(len(end)), used=False, fitting=near, found=found, notes=(said,)
        )
    counts = message("{said}; cases that end near it count more", said=said)
    return ReadingFit(weights=weights, used=True, fitting=fitting, found=found, notes=(counts,))


def misfit_words(unexplained_ah: float, low_ah: float, high_ah: float) -> Message:
    """Return the headline of readings that do not fit; negative Ah are charge too much.

    Parameters
    ----------
    unexplained_ah : float
        Charge the record does not explain, in the middle of the draws. [Ah]
    low_ah, high_ah : float
        Ends of its middle 80 %. [Ah]
    """
    low, high = sorted((abs(low_ah), abs(high_ah)))
    return message(
        "The readings do not fit: an unexplained {ah:.1f} Ah is missing (8 in 10 cases: {low:.1f} "
        "to {high:.1f} Ah). What the unit had in the no-start cannot be said until that is found."
        if unexplained_ah > 0.0
        else "The readings do not fit: an unexplained {ah:.1f} Ah is there that should be missing "
        "(8 in 10 cases: {low:.1f} to {high:.1f} Ah). What the unit had in the no-start cannot be "
        "said until that is found.",
        ah=abs(unexplained_ah),
        low=low,
        high=high,
    )


def candidates_for(
    unexplained_ah: float,
    complaint: Complaint,
    battery: Battery,
    *,
    full_ah: float,
    used_ah: float,
    start: float,
    found: float,
) -> tuple[Candidate, ...]:
    """Return what may be behind readings that do not fit, with the test that tells each.

    Parameters
    ----------
    unexplained_ah : float
        Charge missing beyond the record's; negative for charge too much. [Ah]
    complaint : Complaint
    battery : Battery
    full_ah, used_ah : float
        Charge when full, and drawn while parked by all the record knows. [Ah]
    start, found : float
        Charge at parking, and behind the voltage found. [-]
    """
    if unexplained_ah < 0.0:
        return _TOO_MUCH
    days = complaint.happened["parked_days"]
    extra_a = unexplained_ah / (days * HOURS_PER_DAY)
    return (
        _shorted_cell(complaint.battery_test["resting_v"], battery),
        Candidate(
            name=message("load left on"),
            text=message(
                "{ah:.0f} Ah in {days:g} days is {ma:.0f} mA all the time, or a 5 W lamp for "
                "{hours:.0f} h",
                ah=unexplained_ah,
                days=days,
                ma=1000 * extra_a,
                hours=unexplained_ah * 12.0 / 5.0,
            ),
            test=message(
                "charge it, then log the current for a night, doors and bonnet latched, locked: "
                "a settled current above the record's, or wake-ups that do not end, is the load"
            ),
        ),
        _worn_battery(used_ah, full_ah=full_ah, start=start, found=found),
        Candidate(
            name=message("reading"),
            text=message(
                "a voltage read soon after a start attempt, with lamps on or at the terminals "
                "of a cold battery in use, is too low"
            ),
            test=message(
                "read it again at the posts, nothing connected, after an hour and after four"
            ),
        ),
    )


def _shorted_cell(volts: float, battery: Battery) -> Candidate:
    """Return the shorted cell, with whether the voltage fits one."""
    cells = _CELLS.get(battery.profile.chemistry, 6)
    full_v = resting_v(battery.profile, 1.0, READ_AT_C)
    one_less_v = full_v * (cells - 1) / cells
    fits = volts <= one_less_v + 2.0 * READING_SD_V
    return Candidate(
        name=message("shorted cell"),
        text=message(
            "{healthy} healthy cells of {cells} read at most {one_less:.1f} V: {volts:g} V fits one"
            if fits
            else "{healthy} healthy cells of {cells} read at most {one_less:.1f} V: {volts:g} V is "
            "above that, so at most a cell that leaks",
            healthy=cells - 1,
            cells=cells,
            one_less=one_less_v,
            volts=volts,
        ),
        test=message(
            "charge it fully, let it rest a day: a voltage one cell too low, or one cell's acid "
            "weaker than the others by 0.05 kg/l (caps that open only), is the cell; replace it, "
            "never jump-start or charge a battery that is frozen, swollen or hot"
        ),
    )


def _worn_battery(used_ah: float, *, full_ah: float, start: float, found: float) -> Candidate:
    """Return the worn battery, with the capacity that would explain the reading."""
    span = start - found
    holds_ah = used_ah / span if span > _LEAST_CAPACITY else None
    text = message(
        "the charge at parking was no higher than what was found: capacity does not explain it"
    )
    if holds_ah is not None:
        fits = holds_ah < full_ah
        text = (
            message(
                "what the record draws takes a battery that holds {holds:.0f} Ah instead of "
                "{full:.0f} Ah down to that reading",
                holds=holds_ah,
                full=full_ah,
            )
            if fits
            else message("a smaller battery does not explain it: the record draws too much already")
        )
    return Candidate(
        name=message("worn battery"),
        text=text,
        test=message(
            "charge it fully, then a capacity or conductance test; give the result as "
            "battery_test.capacity_ah, cold_cranking_a or health and ask again"
        ),
    )


_TOO_MUCH: Final = (
    Candidate(
        name=message("charged meanwhile"),
        text=message("a charger, a jump start or a drive before the reading filled it"),
        test=message("ask who had the vehicle between the no-start and the reading"),
    ),
    Candidate(
        name=message("surface charge"),
        text=message("a voltage read within hours of charging is too high"),
        test=message(
            "read it again at the posts, nothing connected, after four hours, better a night"
        ),
    ),
    Candidate(
        name=message("record"),
        text=message(
            "the vehicle or the unit draws less than the record says, or it stood fewer days"
        ),
        test=message("log the current for a night and compare; look up when it was last driven"),
    ),
)
