"""Large arrays that are used again: fresh memory costs more to touch than to compute with."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

import numpy as np

from drainsim.physics.tables import FloatArray

_MOST_KEPT: Final = 3  # arrays between uses, whatever the number of threads
_LARGEST_KEPT: Final = 4_000_000  # values: 32 MB each
_free: Final[list[FloatArray]] = []
_lock: Final = threading.Lock()


@contextmanager
def borrowed(rows: int, columns: int) -> Iterator[FloatArray]:
    """Lend an array of shape (rows, columns), its values undefined, until the block ends."""
    size = rows * columns
    with _lock:
        fitting = [number for number, values in enumerate(_free) if values.size >= size]
        values = _free.pop(fitting[0]) if fitting else np.empty(size)
    try:
        yield values[:size].reshape(rows, columns)
    finally:
        with _lock:
            if values.size <= _LARGEST_KEPT:
                _free.append(values)
                _free.sort(key=len)
                del _free[:-_MOST_KEPT]  # the largest serve most
