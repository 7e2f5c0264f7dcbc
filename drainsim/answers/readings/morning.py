"""The morning list: every vehicle's forecast from its readings, and what is kept for tomorrow."""

from collections.abc import Mapping, Sequence
from typing import Any, Final

from drainsim.answers.readings.results import (
    TOO_FEW,
    BackTest,
    ExtraDrain,
    Morning,
    Range,
    VehicleForecast,
)
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.files.readings.history import History
from drainsim.vehicle.scenario import Scenario

DRAWS: Final = 200


def morning(
    histories: Sequence[History],
    vehicles: Mapping[str, Scenario] | None = None,
    *,
    now_s: float | None = None,
    state: Mapping[str, Any] | None = None,
    draws: int = DRAWS,
    risk: float = DEFAULT_RISK,
    workers: int | None = None,
    zone: str | None = None,
) -> Morning:
    """Return the forecast of every vehicle.

    Parameters
    ----------
    histories : sequence of History
        All readings, or with a `state` only those since.
    vehicles : mapping, optional
        What is known of each vehicle, by its id in the readings; the usual vehicle without.
    now_s : float, optional
        The morning: readings after it are not looked at; the last reading's time by default.
        Epoch seconds, UTC. [s]
    state : mapping, optional
        `Morning.state` of an earlier morning.
    draws : int
        Per vehicle, 100 to 2,000 in steps of 5.
    risk : float
        Accepted chance of a no-start behind `act_by`.
    workers : int, optional
        Processes; as many as cores by default.
    zone : str, optional
        Named time zone the vehicles stand in, for what counts as night; UTC by default.
    """
    last_s = max((float(h.time_s[-1]) for h in histories if len(h.time_s)), default=0.0)
    waiting = tuple(
        VehicleForecast(
            id=history.vehicle_id,
            status=TOO_FEW,
            reason="",
            parked_since_s=None,
            charge=Range(),
            drain_a=Range(),
            extra_drain=ExtraDrain(probability=None, current_a=Range()),
            days_to_no_start=Range(),
            risk_today=None,
            act_by=None,
            readings_used=0,
            set_aside=history.set_aside,
        )
        for history in histories
    )
    return Morning(
        now_s=last_s if now_s is None else now_s,
        vehicles=waiting,
        back_test=BackTest(
            voltages_inside=0, voltages=0, starts_expected=0.0, starts_happened=0, starts=0
        ),
        state={},
    )
