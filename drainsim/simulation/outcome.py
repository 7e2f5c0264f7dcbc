"""What a stand comes to: times, daily start attempts, charge balance and, if asked, its course."""

from dataclasses import dataclass
from enum import Enum, auto
from typing import Final, NamedTuple

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray
from drainsim.simulation.lanes import Lanes

HALF: Final = 0.5


class Event(Enum):
    """What can happen to a parked vehicle; its first time is kept."""

    NO_START = auto()  # at any hour
    START_HOUR = auto()  # a no-start at the start hour of a day
    HALF_CHARGE = auto()
    EMPTY = auto()
    UNIT_OFF = auto()  # at the unit's own cut-off
    FREEZING = auto()


class ChargeBalance(NamedTuple):
    """Charge since parking, Ah: drawn by each load, lost, refused when full, left."""

    vehicle_ah: FloatArray
    unit_ah: FloatArray
    other_ah: FloatArray
    lost_ah: FloatArray
    refused_ah: FloatArray
    left_ah: FloatArray


class ClosedBalance:
    """Balances of the lanes that are closed, as they stood then."""

    def __init__(self, count: int) -> None:
        """Begin with every lane open."""
        self.closed = np.zeros(count, dtype=bool)
        self.balance = ChargeBalance(*(np.zeros(count) for _ in ChargeBalance._fields))

    def close(self, lanes: IndexArray, balance: ChargeBalance) -> None:
        """Keep the balances of some lanes, unless they are closed already."""
        fresh = lanes[~self.closed[lanes]]
        self.closed[fresh] = True
        for kept, entry in zip(self.balance, balance, strict=True):
            kept[fresh] = entry[fresh]

    def at_the_end(self, balance: ChargeBalance) -> ChargeBalance:
        """Return the balances of all lanes, those still open as they stand now."""
        pairs = zip(self.balance, balance, strict=True)
        return ChargeBalance(*(np.where(self.closed, kept, entry) for kept, entry in pairs))


def after_key_off(lanes: Lanes) -> ChargeBalance:
    """Return the charge balance at parking: the key-off sequence and the unit's, once."""
    once_ah = lanes.vehicle_once_ah + lanes.unit_once_ah
    drawn = np.minimum(once_ah, lanes.start_ah)  # a flat battery gives what it has
    share = np.divide(drawn, once_ah, out=np.zeros(len(lanes)), where=once_ah > 0)
    return ChargeBalance(
        vehicle_ah=lanes.vehicle_once_ah * share,
        unit_ah=lanes.unit_once_ah * share,
        other_ah=np.zeros(len(lanes)),
        lost_ah=np.zeros(len(lanes)),
        refused_ah=np.zeros(len(lanes)),
        left_ah=lanes.start_ah - drawn,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """State at every start attempt, arrays of shape (days + 1, lanes); nan before parking."""

    charge: FloatArray  # share of full
    margin: FloatArray
    temperature_c: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """What happened to each lane; hours since its parking, inf where it did not happen.

    Arrays have shape (lanes,), `no_start_daily` (days + 1, lanes): would it fail at the start
    hour of each day of the run (False before it was parked). Without a trace, what comes after
    a lane can be let go (empty, unit off) may be missing and its balance ends; the rest is
    complete.
    `end_balance` is the balance at the end of the day on which the lane's stand ended, `end_day`
    days after its parking; the horizon for a lane that held out.
    """

    no_start_h: FloatArray
    start_hour_no_start_h: FloatArray
    half_charge_h: FloatArray
    empty_h: FloatArray
    unit_off_h: FloatArray
    freezing_h: FloatArray
    no_start_daily: BoolArray
    snapshot_charge: FloatArray  # share of full on the day asked for
    balance: ChargeBalance
    end_balance: ChargeBalance
    end_day: FloatArray
    step_h: float
    held: int
    trace: Trace | None
    daily_balance: ChargeBalance | None  # at every start attempt, as a trace; if asked for
