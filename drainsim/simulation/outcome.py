"""What a stand comes to: times, daily start attempts, books and, if asked for, the whole course."""

from dataclasses import dataclass
from typing import NamedTuple

from drainsim.physics.tables import BoolArray, FloatArray


class Books(NamedTuple):
    """Charge since parking, Ah: drawn by each load, lost, refused when full, left."""

    vehicle_ah: FloatArray
    unit_ah: FloatArray
    other_ah: FloatArray
    lost_ah: FloatArray
    refused_ah: FloatArray
    left_ah: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """State at every start attempt, arrays of shape (days + 1, lanes)."""

    charge: FloatArray  # share of full
    margin: FloatArray
    temperature_c: FloatArray
    books: Books


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """What happened to each lane; hours since its parking, inf where it did not happen.

    Arrays have shape (lanes,), `no_start_daily` (days + 1, lanes): would it fail at the start
    hour of each day of the run (False before it was parked). Without a trace, what comes after
    a lane can be let go (empty, unit off) may be missing and its books end; the rest is complete.
    """

    no_start_h: FloatArray
    start_hour_no_start_h: FloatArray
    half_charge_h: FloatArray
    empty_h: FloatArray
    unit_off_h: FloatArray
    freezing_h: FloatArray
    no_start_daily: BoolArray
    snapshot_charge: FloatArray  # share of full on the day asked for
    books: Books
    step_h: float
    held: int
    trace: Trace | None
