"""What the user should know about the answer to how long a vehicle can stand."""

from collections.abc import Iterator
from typing import Final

import numpy as np

from drainsim.language import Celsius, Message, message
from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.standing.stand import Stand
from drainsim.vehicle.case import Case

# Most diesels start promptly down to there (off-highway engine maker); unwinterised ones may fail
# from -10 °C on (cold regions technical digest).
_DIESEL_LIMIT_C: Final = -20.0


def park_warnings(
    case: Case,
    curves: BatteryCurves,
    drawn: Stand,
    half_charge: float | None,
    no_start: float | None,
) -> Iterator[Message]:
    """Return what the user should know about this answer.

    Parameters
    ----------
    case, curves : Case, BatteryCurves
    drawn : Stand
        Its draws.
    half_charge, no_start : float, optional
        Median days to half of the charge and to the no-start; None past the horizon. [d]
    """
    frozen = float(np.isfinite(drawn.freezing_h).mean())
    if frozen >= 0.05:
        yield message(
            "the electrolyte can freeze within {days} days (in {percent:.0f} % of the cases): "
            "a frozen battery can burst; never charge or jump-start it, thaw it first and have "
            "it tested",
            days=case.horizon_days,
            percent=100 * frozen,
        )
    if half_charge is not None and (no_start is None or half_charge < no_start):
        yield message(
            "half of the charge is gone after {days:.0f} days, before the no-start: standing "
            "below half charge sulfates the plates and shortens the battery's life",
            days=half_charge,
        )
    low, high = curves.published_c
    course = case.site.battery_c
    if course.min() < low or course.max() > high:
        yield message(
            "battery temperatures run from {coldest:.0f-} to {warmest}; the charts of cranking "
            "were published for {low:.0f-} to {high}: above, their warm end is held; below, "
            "battery power follows the measured impedance of one kind of battery and an "
            "engine's demand its oil's viscosity, with a wide spread",
            coldest=Celsius(course.min()),
            warmest=Celsius(course.max()),
            low=Celsius(low),
            high=Celsius(high),
        )
    if case.vehicle.oil is not None and case.vehicle.diesel and course.min() < _DIESEL_LIMIT_C:
        yield message(
            "a diesel below {limit} may also be stopped by waxed fuel and by ignition without "
            "glow plugs or a starting aid: this answer knows only battery and oil",
            limit=Celsius(_DIESEL_LIMIT_C),
        )
    if drawn.held:
        yield message(
            "in some cases {number} battery temperatures left the model's {low:-} to {high}; "
            "they were held at its ends",
            number=drawn.held,
            low=Celsius(-40.0),
            high=Celsius(60.0),
        )
    chemistry = case.battery.profile.chemistry
    if chemistry in {"gel", "lithium_iron_phosphate"}:
        yield message(
            "cranking figures of the profile {profile} are not published tables; see their "
            "grades: take the answer as a rough guide",
            profile=case.battery.profile.key,
        )
    if case.battery.profile.has("lowest_charging_temperature_c"):
        coldest = case.battery.profile.number("lowest_charging_temperature_c")
        if course.min() < coldest:
            yield message(
                "this battery must not be charged below {coldest}: chargers, panels and "
                "alternator count for nothing while it is colder, and its protection must "
                "block them",
                coldest=Celsius(coldest),
            )
