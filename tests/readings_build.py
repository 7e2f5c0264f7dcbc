"""Invented histories of readings as files: cheap, for what reads, prints and writes them."""

import datetime as dt

import numpy as np

LAST = dt.datetime(2026, 11, 18, 6, tzinfo=dt.UTC)


def readings_csv(
    *, vehicles: int = 3, days: int = 24, parked_days: int = 12, seed: int = 1, extra_a: float = 0.3
) -> str:
    """Return hourly readings, a row each, of vehicles driven twice a day and then parked.

    The last vehicle draws `extra_a` more in its last five days. Charge falls by 40 mA of 60 Ah,
    voltage is straight in charge with 10 mV noise: none of it is the estimator's model.
    """
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(vehicles):
        charge = 0.9
        for hour in range(24 * days):
            moment = LAST - dt.timedelta(hours=24 * days - 1 - hour)
            left_days = days - hour / 24
            on = moment.hour in {8, 17} and left_days > parked_days
            extra = extra_a if number == vehicles - 1 and left_days < 5 else 0.0
            charge = min(charge - (0.04 + extra) / 60 + (0.06 if on else 0.0), 0.95)
            volts = 14.2 if on else 11.9 + 0.85 * charge + rng.normal(0.0, 0.01)
            rows.append(f"VA-{number + 1},{moment:%Y-%m-%dT%H:%M:%SZ},{volts:.2f},{int(on)}")
    return "vehicle,timestamp,voltage,ignition\n" + "\n".join(rows) + "\n"


def before(text: str, moment: dt.datetime) -> str:
    """Return the rows of a file of `readings_csv` up to a moment."""
    head, *rows = text.splitlines()
    kept = [row for row in rows if row.split(",")[1] <= f"{moment:%Y-%m-%dT%H:%M:%SZ}"]
    return "\n".join([head, *kept]) + "\n"


def after(text: str, moment: dt.datetime) -> str:
    """Return the rows of a file of `readings_csv` later than a moment."""
    head, *rows = text.splitlines()
    kept = [row for row in rows if row.split(",")[1] > f"{moment:%Y-%m-%dT%H:%M:%SZ}"]
    return "\n".join([head, *kept]) + "\n"
