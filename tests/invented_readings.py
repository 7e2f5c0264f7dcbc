"""Write the invented vehicles' readings: `python -m tests.invented_readings`.

Six weeks of 25 vehicles that do not exist, hour by hour, with three faults, a silent unit, a
charger, a 24 V truck and an exchanged battery. Curve, relaxation and noise are made up here and
are not the estimator's: a demonstration, no check.
"""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from drainsim.files.readings.example import EXAMPLE_LIST, EXAMPLE_READINGS
from drainsim.physics.tables import FloatArray

FIRST: Final = np.datetime64("2026-10-14T00:00")
HOURS: Final = 42 * 24 + 7  # until the early morning of 25 November
_SEED: Final = 20261125


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """An invented vehicle. Days count from the first reading; a drive begins at its hour."""

    name: str
    depot: str = "Hill Yard"
    capacity_ah: float = 70.0
    cold_cranking_a: int = 640
    age_years: float = 4.0
    litres: float = 2.0
    fuel: str = "diesel"
    quiescent_ma: float = 32.0
    drives: Sequence[float] = ()  # days, with the share of the day; an hour and a half each
    extra_a: float = 0.0
    extra_days: Sequence[tuple[float, float]] = ()
    dips: bool = False
    silent_after: float = 99.0
    charger: tuple[float, float] = (99.0, 99.0)
    exchanged: float = 99.0
    volts: int = 12
    step_v: float = 0.01
    charge: float = 0.9
    switched: bool = False  # fed behind the ignition switch


def _workdays(*, last: float, hours: Sequence[int] = (7, 17)) -> tuple[float, ...]:
    """Return drives on weekdays up to a day; the first reading is of a Wednesday."""
    return tuple(
        day + hour / 24
        for day in range(42)
        if (day + 2) % 7 < 5 and day <= last
        for hour in hours
        if day + hour / 24 <= last
    )


FLEET: Final = (
    *(
        Truth(name=f"HY-{n:02d}", drives=_workdays(last=last), charge=charge, age_years=age)
        for n, (last, charge, age) in enumerate(
            ((42, 0.92, 2), (42, 0.9, 5), (42, 0.88, 3), (23.8, 0.9, 4), (37.8, 0.93, 1)), start=1
        )
    ),
    *(
        Truth(
            name=f"RS-{n:02d}",
            depot="River Side",
            capacity_ah=60,
            cold_cranking_a=540,
            litres=1.4,
            fuel="petrol",
            drives=(start + 0.4, start + 0.6),
            charge=0.85,
            age_years=age,
            quiescent_ma=ma,
            step_v=step,
        )
        for n, (start, age, ma, step) in enumerate(
            (
                (19, 3, 28, 0.01),
                (22, 6, 32, 0.01),
                (24, 2, 25, 0.1),
                (28, 5, 36, 0.1),
                (33, 4, 30, 0.01),
            ),
            start=1,
        )
    ),
    *(
        Truth(
            name=f"MV-{n:02d}",
            depot="Mill Valley",
            capacity_ah=95,
            cold_cranking_a=800,
            litres=2.3,
            drives=_workdays(last=last, hours=(6, 11, 16)),
            quiescent_ma=45,
            age_years=3,
        )
        for n, last in enumerate((42, 42, 33.8, 26.8), start=1)
    ),
    Truth(
        name="HY-11", drives=(22.3, 22.4, 22.5, 22.6), charge=0.95,
        extra_a=0.12, extra_days=((36.5, 99),),
    ),
    Truth(
        name="HY-12", drives=(24.3, 24.4, 24.5, 24.6), charge=0.95,
        extra_a=0.13, extra_days=((36, 99),), dips=True,
    ),
    Truth(
        name="RS-11", depot="River Side", extra_a=0.28,
        drives=tuple(d + h for d in (4, 9, 14, 19, 24, 30, 36) for h in (0.3, 0.4, 0.5)),
        extra_days=((9.5, 14.3), (24.5, 30.3), (36.6, 99)), charge=0.95,
    ),
    Truth(name="MV-11", depot="Mill Valley", drives=(3.4,), quiescent_ma=52, silent_after=33.2,
          age_years=7, charge=0.8),
    Truth(name="MV-12", depot="Mill Valley", drives=(28.4, 28.5), charger=(38.0, 99.0)),
    Truth(name="TR-01", depot="Mill Valley", volts=24, capacity_ah=180, cold_cranking_a=1000,
          litres=12.8, drives=_workdays(last=36.8, hours=(5, 13)), quiescent_ma=60),
    Truth(name="RS-12", depot="River Side", drives=(15.4, 15.6), quiescent_ma=55, exchanged=31.4,
          charge=0.8, age_years=8),
    Truth(name="RS-13", depot="River Side", drives=_workdays(last=42, hours=(8,)), switched=True),
    Truth(name="HY-13", drives=(34.4, 34.5, 34.6), quiescent_ma=38, age_years=6, charge=0.9),
    Truth(name="HY-14", drives=(23.4, 23.6), quiescent_ma=42, age_years=7, charge=0.85),
    Truth(name="HY-15", drives=(37.4, 37.6), age_years=8, charge=0.85, quiescent_ma=45),
)  # fmt: skip


def voltages(one: Truth, rng: np.random.Generator) -> tuple[FloatArray, FloatArray]:
    """Return an invented vehicle's voltage and ignition, hour by hour; NaN is no reading."""
    capacity = one.capacity_ah * rng.uniform(0.95, 0.99) ** one.age_years
    offset, gain = rng.normal(0.0, 0.03), rng.normal(1.0, 0.002)
    charge, rested_h, surface = one.charge, 30.0, 0.2
    shown, key = np.full(HOURS, np.nan), np.zeros(HOURS)
    starts = {round(24 * day) for day in one.drives}
    running = starts | {hour + 1 for hour in starts}
    noise = 0.005 * rng.standard_t(5, size=HOURS)
    for hour in range(HOURS):
        day = hour / 24
        if hour == round(24 * one.exchanged):
            charge, capacity, offset, surface = 0.88, one.capacity_ah, rng.normal(0.02, 0.03), 0.0
        on_charge = one.charger[0] <= day < one.charger[1]
        if hour in running:
            charge = min(charge + 9.0 / capacity, 0.96)
            rested_h, surface = 0.0, 0.28
            key[hour] = 1.0
            volts = rng.normal(14.2, 0.1)
        elif on_charge:
            charge = min(charge + 1.5 / capacity, 1.0)
            rested_h, surface, volts = 0.0, 0.3, 13.55
        else:
            extra = any(first <= day < last for first, last in one.extra_days)
            current = one.quiescent_ma / 1000 + 0.0045 + one.extra_a * extra
            charge = max(charge - current / capacity, 0.02)
            rested_h += 1.0
            volts = 11.95 + 0.88 * charge - 0.04 * charge**2 + offset
            volts += surface * (1.0 + rested_h / 1.5) ** -0.7
            volts -= 0.06 * (extra and one.dips and hour % 2)
            volts += 0.0008 * np.sin((hour % 24 - 9) / 24 * 2 * np.pi) * 5
        if day > one.silent_after or (one.switched and not key[hour]):
            volts = np.nan if day > one.silent_after else 0.0
        shown[hour] = volts * gain + noise[hour] if volts else 0.0
    shown *= one.volts / 12
    return np.round(shown / one.step_v) * one.step_v, key


def readings_csv() -> str:
    """Return the readings, one column a vehicle with its ignition beside it."""
    rng = np.random.default_rng(_SEED)
    columns = [(one, *voltages(one, rng)) for one in FLEET]
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    names = [word for one in FLEET for word in (one.name, f"{one.name} ignition")]
    write(["time (UTC)", *names])
    for hour in range(HOURS):
        cells: list[str] = []
        for one, volts, key in columns:
            seen = np.isfinite(volts[hour])
            digits = 1 if one.step_v == 0.1 else 2
            cells += [f"{volts[hour]:.{digits}f}", f"{key[hour]:.0f}"] if seen else ["", ""]
        write([f"{FIRST + np.timedelta64(hour, 'h')}Z", *cells])
    return out.getvalue()


def list_csv() -> str:
    """Return the list of the same vehicles."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n").writerow
    write(
        [
            "id",
            "depot",
            "capacity_ah",
            "cold_cranking_a",
            "battery_age_years",
            "quiescent (mA)",
            "engine_litres",
            "fuel",
            "system",
            "climate",
        ]
    )
    for one in FLEET:
        write(
            [
                one.name, one.depot, f"{one.capacity_ah:g}", one.cold_cranking_a,
                f"{one.age_years:g}", round(one.quiescent_ma * 1.1), f"{one.litres:g}", one.fuel,
                f"{one.volts}V", "temperate",
            ]
        )  # fmt: skip
    return out.getvalue()


def main() -> None:
    """Write both files into the package."""
    Path(EXAMPLE_READINGS).write_text(readings_csv(), encoding="utf-8")
    Path(EXAMPLE_LIST).write_text(list_csv(), encoding="utf-8")


def told_of() -> str:
    """Return the readings of the vehicles of which something is told, and a few of the others."""
    few = {"HY-01", "RS-01", "RS-02", "MV-01", "HY-11", "HY-12", "RS-11", "MV-11", "RS-13"}
    rows = [line.split(",") for line in EXAMPLE_READINGS.read_text("utf-8").splitlines()]
    kept = [0, *(n for n, name in enumerate(rows[0]) if name.removesuffix(" ignition") in few)]
    return "".join(",".join(row[n] for n in kept) + "\n" for row in rows)


if __name__ == "__main__":
    main()
