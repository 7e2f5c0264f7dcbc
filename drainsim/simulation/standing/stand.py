"""A stand: what happens to each lane from parking to the horizon.

State of charge is counted in ampere-hours: temperature never changes the charge. It acts on
deliverable charge at high rate, cranking, self-discharge and freezing, each on its own.

Who reads only the failing mornings asks for them alone (`mornings_only`): all else is nan, never
made up. Trailers are always followed to their silence.
"""

from collections.abc import Sequence

import numpy as np

from drainsim.simulation.battery_curves import BatteryCurves
from drainsim.simulation.blocks import choose_step_h
from drainsim.simulation.lanes import Lanes, Loads
from drainsim.simulation.outcome import HALF as HALF
from drainsim.simulation.outcome import ChargeBalance as ChargeBalance
from drainsim.simulation.outcome import Event as Event
from drainsim.simulation.outcome import Stand as Stand
from drainsim.simulation.outcome import Trace as Trace
from drainsim.simulation.standing.direct_stand import direct_stand, runs_directly
from drainsim.simulation.standing.stepped_stand import SteppedStand
from drainsim.simulation.weather import WeatherLanes


def run_stand(
    lanes: Lanes,
    curves: BatteryCurves,
    loads: Loads,
    weather: WeatherLanes,
    *,
    horizon_days: int,
    step_h: float | None = None,
    course: bool = False,
    trace: bool = False,
    to_the_end: bool = False,
    snapshot_day: int = 0,
    ends: Sequence[Event] = (Event.NO_START,),
    mornings_only: bool = False,
) -> Stand:
    """Return what happens to each lane from parking to the horizon.

    Parameters
    ----------
    lanes : Lanes
        May be parked on different days of the run, each before the horizon.
    curves : BatteryCurves
        Of one battery type; they serve all lanes.
    loads : Loads
        Of one unit for all lanes, or of one for each.
    weather : WeatherLanes
        Covers the horizon; `lanes.weather` points into it.
    horizon_days : int
        From the first parking on.
    step_h : float, optional
        Length of a block, a divisor of 24; chosen from the loads if left out. [h]
    course : bool
        Keep charge, margin and temperature at every start attempt (nan before a lane is parked).
    trace : bool
        Keep the course and the charge balance of every day: several times the time.
    to_the_end : bool
        Follow every lane to the horizon, as a course does; otherwise lanes drop out once no start
        is left in them, which may be before their unit falls silent.
    snapshot_day : int
        Day whose charge is kept as `snapshot_charge`.
    ends : sequence of Event
        What ends a stand, whichever comes first.
    mornings_only : bool
        Ask `no_start_daily` alone; all else may be nan.

    Raises
    ------
    ValueError
        If a lane is parked after the horizon or stands in a weather that is not there.
    """
    if np.any((lanes.start_day < 0) | (lanes.start_day >= horizon_days)):
        raise ValueError(f"every lane must be parked on one of the {horizon_days} days of the run")
    if np.any(lanes.weather >= len(weather.season_c)):
        raise ValueError(f"lanes stand in weathers beyond the {len(weather.season_c)} given")
    step_h = step_h or choose_step_h(lanes, loads)
    if not trace and runs_directly(lanes, curves, step_h=step_h):
        return direct_stand(
            lanes,
            curves,
            loads,
            weather,
            horizon_days=horizon_days,
            step_h=step_h,
            course=course,
            to_the_end=to_the_end,
            snapshot_day=snapshot_day,
            ends=ends,
            mornings_only=mornings_only,
        )
    return SteppedStand(
        all_lanes=lanes,
        curves=curves,
        all_loads=loads,
        weather=weather,
        horizon_days=horizon_days,
        step_h=step_h,
        course=course or trace,
        balances=trace,
        to_the_end=to_the_end,
        snapshot_day=snapshot_day,
        ends=ends,
    ).run()
