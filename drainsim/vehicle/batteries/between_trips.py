"""What charges the battery between the trips of a pattern: panel, maintainer, top-ups.

The series of chargers for the weeks before parking belongs to the pattern. While driving they
count for nothing, because the alternator holds its voltage whatever a panel adds.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from drainsim.units import HOURS_PER_DAY
from drainsim.vehicle.batteries.battery import Battery
from drainsim.vehicle.batteries.chargers import (
    MAINTAINER,
    TOPUP,
    Charger,
    maintainer_from_scenario,
    top_up_from_scenario,
)
from drainsim.vehicle.keys.ledger import Ledger
from drainsim.vehicle.pattern import Pattern, longest_gap_h
from drainsim.vehicle.places.site import SITE
from drainsim.vehicle.places.solar import solar_from_scenario
from drainsim.vehicle.unit import Unit
from drainsim.vehicle.vehicle import Vehicle


def with_chargers(
    ledger: Ledger,
    pattern: Pattern,
    battery: Battery,
    vehicle: Vehicle,
    unit: Unit,
    *,
    sunlit: bool,
) -> Pattern:
    """Return the pattern with what charges the battery between its trips.

    A panel is on the roof all year, where this battery is the one it charges (`sunlit`). A
    maintainer counts only where the scenario says that it is plugged in between trips as well.
    Top-ups from a traction battery go on as long as the maker does not stop them within the
    longest gap; driving recharges the traction battery.

    Parameters
    ----------
    ledger, pattern, battery, vehicle, unit : Ledger, Pattern, Battery, Vehicle, Unit
    sunlit : bool
        Whether a panel charges this battery.
    """
    scenario = ledger.scenario
    days = 7 * pattern.weeks + 1
    earlier: dict[str, Any] = {SITE.parked_from: pattern.site.parked_from}
    plugged_in = False
    if scenario.has(MAINTAINER.TABLE.name):
        plugged_in = ledger.take(MAINTAINER.between_trips) == "yes"
        earlier[MAINTAINER.from_day] = 0.0
    # The weeks' own figures are noted and warned of once, with those of the stand.
    quiet = Ledger(scenario.with_values(earlier))
    maintainer = None
    if plugged_in:
        maintainer = maintainer_from_scenario(
            quiet, battery, vehicle, unit, pattern.site, horizon_days=days
        )
    top_up, _ = top_up_from_scenario(quiet, battery, vehicle, unit, horizon_days=days)
    stops = scenario.get(TOPUP.suspended_after_days)
    if top_up is not None:
        stopped = stops is not None and stops * HOURS_PER_DAY < longest_gap_h(pattern)
        steady_a = 0.0 if stopped else float(top_up.charging_a[0])
        top_up = Charger(charging_a=np.full(days, steady_a), sigma=top_up.sigma)
    return replace(
        pattern,
        solar=solar_from_scenario(quiet, pattern.site, horizon_days=days) if sunlit else None,
        maintainer=maintainer,
        top_up=top_up,
    )
