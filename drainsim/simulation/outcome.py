"""What a stand comes to: times, daily start attempts, books and, if asked for, the whole course."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from drainsim.physics.tables import BoolArray, FloatArray, IndexArray


class Books(NamedTuple):
    """Charge since parking, Ah: drawn by each load, lost, refused when full, left."""

    vehicle_ah: FloatArray
    unit_ah: FloatArray
    other_ah: FloatArray
    lost_ah: FloatArray
    refused_ah: FloatArray
    left_ah: FloatArray


class ClosedBooks:
    """Books of the lanes that are closed, as they stood then."""

    def __init__(self, count: int) -> None:
        """Begin with every lane open."""
        self.closed = np.zeros(count, dtype=bool)
        self.books = Books(*(np.zeros(count) for _ in Books._fields))

    def close(self, lanes: IndexArray, books: Books) -> None:
        """Keep the books of some lanes, unless they are closed already."""
        fresh = lanes[~self.closed[lanes]]
        self.closed[fresh] = True
        for kept, book in zip(self.books, books, strict=True):
            kept[fresh] = book[fresh]

    def at_the_end(self, books: Books) -> Books:
        """Return the books of all lanes, those still open as they stand now."""
        pairs = zip(self.books, books, strict=True)
        return Books(*(np.where(self.closed, kept, book) for kept, book in pairs))


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
    `end_books` are the books at the end of the day on which the lane's stand ended, `end_day`
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
    books: Books
    end_books: Books
    end_day: FloatArray
    step_h: float
    held: int
    trace: Trace | None
