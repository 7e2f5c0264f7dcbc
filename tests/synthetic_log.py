"""Logs of current with known truth, as a meter of a given step would write them."""

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SETTLED_A = 0.0323
PULSE_A, PULSE_S = 0.45, 20.0
PULSE_AS = PULSE_S * (PULSE_A - SETTLED_A)
SLEEP_S = 45 * 60.0
PERIOD_S = 600.0


def parked_log(
    *,
    hours: float = 3.0,
    step_s: float = 1.0,
    resolution_a: float = 0.001,
    noise_a: float = 0.002,
    settled_a: float = SETTLED_A,
    seed: int = 1,
) -> tuple[Array, Array]:
    """Return time and current: 3 A for 5 min, 0.3 A until 45 min, asleep with wake-ups."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, hours * 3600.0, step_s)
    current = np.where(time < 300.0, 3.0, 0.3)
    asleep = time >= SLEEP_S
    current = np.where(asleep, settled_a, current)
    phase = (time - SLEEP_S - 137.0) % PERIOD_S
    waking = (time >= SLEEP_S + 137.0) & (phase < PULSE_S)
    current = np.where(waking, PULSE_A, current) + rng.normal(0.0, noise_a, len(time))
    return time, np.round(current / resolution_a) * resolution_a


def as_csv(time: Array, current: Array) -> bytes:
    """Return the log as the plainest CSV."""
    rows = (f"{t:g},{i:.4f}" for t, i in zip(time.tolist(), current.tolist(), strict=True))
    return ("time_s,current_a\n" + "\n".join(rows) + "\n").encode()
