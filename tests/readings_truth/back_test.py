"""Back-test of the readings' forecast on a truth that differs from the estimator; prints tables.

python -m tests.readings_truth.back_test --stands 400 --seed 1 [--workers 2] [--parts healthy,...]

Every stand has a battery, weather, drain and unit of its own; eight fleets of different places
and seasons share out the stands. "Without readings" is the product's own answer to the same list,
given that the vehicle still started that day; "line" is a straight line through the night
voltages to the voltage at which vehicles of this battery type truly fail, which nobody would know.
"""

import argparse
import datetime as dt
import os
import resource
from collections.abc import Callable
from multiprocessing import get_context
from typing import Any

import numpy as np

from tests.readings_truth.asking import days_left_without, forecasts, without_readings
from tests.readings_truth.battery import Array
from tests.readings_truth.scoring import (
    chance,
    inside,
    interval_score,
    night_medians,
    rmse,
    straight_line,
    width,
)
from tests.readings_truth.truth import Stands, stands
from tests.readings_truth.voltmeter import after_each_other, read

FLEETS = (
    ("temperate", dt.datetime(2026, 11, 10, 17, tzinfo=dt.UTC)),
    ("marine", dt.datetime(2027, 1, 5, 15, tzinfo=dt.UTC)),
    ("continental", dt.datetime(2026, 10, 5, 18, tzinfo=dt.UTC)),
    ("temperate", dt.datetime(2027, 3, 1, 16, tzinfo=dt.UTC)),
    ("humid_subtropical", dt.datetime(2026, 12, 1, 17, tzinfo=dt.UTC)),
    ("mediterranean", dt.datetime(2027, 6, 20, 19, tzinfo=dt.UTC)),
    ("temperate", dt.datetime(2026, 9, 10, 17, tzinfo=dt.UTC)),
    ("continental", dt.datetime(2027, 4, 20, 17, tzinfo=dt.UTC)),
)
STEPS_V = (0.01, 0.1)
# Healthy stands: night voltages only; with the dips of the starts before; with one voltmeter
# reading on the first morning; with an earlier stand of 12 days of the same vehicle and unit.
KINDS = ("healthy", "dips", "voltmeter", "second")
CHANGE_NIGHT = 10  # a drain that begins inside a stand begins on the morning after that night
SEEN_FROM = 0.5  # probability from which an extra drain counts as found
_FIRST_STAND_DAYS = 12
Rows = dict[str, Array]


def morning_of(begin: dt.datetime, night: float) -> float:
    """Return the days after key off of 08:00 UTC after that many nights."""
    return night + (8 - begin.hour) / 24


def _fleet(number: int, count: int, seed: int, salt: int, **how: Any) -> Stands:
    place, begin = FLEETS[number % len(FLEETS)]
    return stands([seed, salt, number], count, place=place, begin=begin, **how)


def _fails_at_v(s: Stands) -> Array:
    """Return the resting voltage at which vehicles of this battery type truly fail, by vehicle."""
    hour = np.argmax(s.fails, axis=0)
    volts = s.rests_v[hour, np.arange(s.count)]
    sealed = s.says["battery_type"] == "agm"
    fails = s.fails.any(axis=0)
    return np.where(
        sealed, np.median(volts[sealed & fails] if (sealed & fails).any() else volts),
        np.median(volts[~sealed & fails] if (~sealed & fails).any() else volts),
    )  # fmt: skip


def standing(job: tuple[int, int, int, str, float, tuple[int, ...]]) -> list[Rows]:
    """Return, night by night, what was forecast of one fleet and what was true."""
    number, count, seed, kind, step_v, nights = job
    rng = np.random.default_rng([seed, 77, number])
    faulty = kind == "faulty"
    extra_a = np.exp(rng.uniform(np.log(0.03), np.log(0.6), count)) if faulty else np.zeros(count)
    s = _fleet(number, count, seed, 1, extra_a=extra_a)
    earlier = _earlier(s, number, seed) if kind == "second" else None
    dips = kind == "dips"
    prior = without_readings(s)
    limit_v = _fails_at_v(s)
    found = []
    for night in nights:
        day = morning_of(s.begin, night)
        readings = read(
            s,
            [seed, 5, number],
            days=day,
            step_v=step_v,
            dips=dips,
            drives_days=6 if dips else 1,
            voltmeter_day=0.7 if kind == "voltmeter" else None,
        )
        if earlier is not None:
            before = read(
                earlier,
                [seed, 8, number],
                days=_FIRST_STAND_DAYS,
                step_v=step_v,
                unit_seed=[seed, 5, number],
            )
            readings = [after_each_other(*pair) for pair in zip(before, readings, strict=True)]
        said = forecasts(s, readings, day=day, step_v=step_v)
        bare = days_left_without(prior, day)
        found.append(
            {
                "night": np.full(count, float(night)),
                "alive": s.alive(day),
                "truth": s.days_left(day),
                "p10": said.p10,
                "p50": said.p50,
                "p90": said.p90,
                "bare10": bare[:, 0],
                "bare50": bare[:, 1],
                "bare90": bare[:, 2],
                "line": straight_line(s, readings, day, limit_v),
                "probability": said.probability,
                "extra_a": extra_a,
                "found_a": said.extra_a[:, 1],
                "charge": said.charge,
                "true_charge": s.charge[round(day * 24)],
                "drain_a": said.drain_a,
                "true_drain_a": s.drain_a + s.extra_a[round(day * 24)],
                "night_low_v": said.night_low_v,
                "night_high_v": said.night_high_v,
                "night_v": _night_v(s, seed, number, night + 7, step_v),
            }
        )
    return found


def _earlier(s: Stands, number: int, seed: int) -> Stands:
    """Return a stand of the same vehicles that ended a week before this one began."""
    return stands(
        [seed, 9, number],
        s.count,
        place=s.place,
        begin=s.begin - dt.timedelta(days=_FIRST_STAND_DAYS + 7),
        like=s,
    )


def _night_v(s: Stands, seed: int, number: int, night: int, step_v: float) -> Array:
    """Return the median voltage each unit reports in a night to come."""
    day = morning_of(s.begin, night)
    readings = read(s, [seed, 5, number], days=day, step_v=step_v)
    return np.array([night_medians(s, one, day)[1][-1] for one in readings])


def changing(job: tuple[int, int, int, float, float, tuple[int, ...]]) -> list[Rows]:
    """Return, night by night, the chance of an extra drain that begins inside a stand, or never."""
    number, count, seed, extra_a, step_v, nights = job
    since = morning_of(FLEETS[number % len(FLEETS)][1], CHANGE_NIGHT)
    s = _fleet(number, count, seed, 2, extra_a=extra_a, extra_from_day=since, strong=True)
    found = []
    for night in nights:
        day = morning_of(s.begin, night)
        readings = read(s, [seed, 6, number], days=day, step_v=step_v)
        said = forecasts(s, readings, day=day, step_v=step_v)
        found.append(
            {
                "night": np.full(count, float(night)),
                "probability": said.probability,
                "since_off": (said.since_s - s.begin.timestamp()) / 86400 - since,
                "low_a": said.extra_a[:, 0],
                "high_a": said.extra_a[:, 2],
            }
        )
    return found


def joined(results: list[list[Rows]]) -> list[Rows]:
    """Return one table a night of all fleets."""
    return [
        {key: np.concatenate([fleet[at][key] for fleet in results]) for key in results[0][at]}
        for at in range(len(results[0]))
    ]


def scores(rows: Rows) -> dict[str, float]:
    """Return the scores of one night, over the vehicles that would still have started."""
    r = {key: value[rows["alive"]] for key, value in rows.items()}
    band = width(r["p10"], r["p90"])
    bare = width(r["bare10"], r["bare90"])
    return {
        "night": float(r["night"][0]),
        "count": float(len(r["truth"])),
        "inside": float(inside(r["truth"], r["p10"], r["p90"]).mean()),
        "inside_bare": float(inside(r["truth"], r["bare10"], r["bare90"]).mean()),
        "below": float((np.minimum(r["truth"], 180) < np.minimum(r["p10"], 180)).mean()),
        "rmse": rmse(r["truth"], r["p50"]),
        "rmse_bare": rmse(r["truth"], r["bare50"]),
        "rmse_line": rmse(r["truth"], r["line"]),
        "band": float(band.mean() / bare.mean()),
        "interval": interval_score(r["truth"], r["p10"], r["p90"]),
        "accused": float((r["probability"] > SEEN_FROM).mean()),
        "charge_rms": float(np.sqrt(np.nanmean((r["charge"] - r["true_charge"]) ** 2))),
        "week": float(
            np.mean((r["night_v"] >= r["night_low_v"]) & (r["night_v"] <= r["night_high_v"]))
        ),
        "drain_ma": float(1e3 * np.nanmedian(np.abs(r["drain_a"] - r["true_drain_a"]))),
    }


def _all(job: Callable[..., list[Rows]], jobs: list[Any], workers: int) -> list[list[Rows]]:
    if workers == 1:
        return [job(one) for one in jobs]
    with get_context("fork").Pool(workers) as pool:
        return pool.map(job, jobs, chunksize=1)


def _shares(count: int) -> list[tuple[int, int]]:
    """Return (number, vehicles) of each fleet."""
    fleets = min(len(FLEETS), max(1, count // 5))
    return [(number, count // fleets + (number < count % fleets)) for number in range(fleets)]


def standing_rows(
    count: int,
    seed: int,
    *,
    kind: str = "healthy",
    step_v: float,
    nights: tuple[int, ...],
    workers: int = 1,
) -> list[Rows]:
    """Return one table a night of `count` stands; kind as in `KINDS`, or faulty."""
    jobs = [(number, n, seed, kind, step_v, nights) for number, n in _shares(count)]
    return joined(_all(standing, jobs, workers))


def changing_rows(
    count: int, seed: int, *, extra_a: float, step_v: float, nights: tuple[int, ...], workers: int
) -> list[Rows]:
    """Return one table a night of `count` long stands, the drain rising on day 10."""
    jobs = [(number, n, seed, extra_a, step_v, nights) for number, n in _shares(count)]
    return joined(_all(changing, jobs, workers))


def _print_healthy(options: argparse.Namespace) -> None:
    for kind in options.kinds.split(","):
        for step_v in STEPS_V:
            print(f"\n{kind}, steps of {step_v:g} V")
            print(
                "night alive inside (bare) below   rmse  bare  line band interval accused charge  "
                "mA  week"
            )
            for rows in standing_rows(
                options.stands,
                options.seed,
                kind=kind,
                step_v=step_v,
                nights=(2, 4, 7, 14, 21),
                workers=options.workers,
            ):
                print(
                    "{night:5.0f} {count:5.0f}  {inside:.3f} ({inside_bare:.3f}) {below:.3f} "
                    "{rmse:5.1f} {rmse_bare:5.1f} {rmse_line:5.1f} {band:4.2f}   {interval:5.1f}  "
                    "{accused:.3f}  {charge_rms:.3f} {drain_ma:4.1f} "
                    "{week:.3f}".format(**scores(rows)),
                    flush=True,
                )
    print(f"\n(share inside by chance: 0.80 ± {chance(0.8, options.stands, 2):.3f}, two sigma)")


def _print_faulty(options: argparse.Namespace) -> None:
    for step_v in STEPS_V:
        print(f"\nfaulty from the beginning, steps of {step_v:g} V; band over no readings")
        print("night   80-350 mA: n  inside  band  rmse (bare)   found 80-350  30-80  350-600")
        for rows in standing_rows(
            options.stands,
            options.seed + 1000,
            kind="faulty",
            step_v=step_v,
            nights=(2, 4, 7),
            workers=options.workers,
        ):
            mid = (rows["extra_a"] >= 0.08) & (rows["extra_a"] <= 0.35)
            s = scores({key: value[mid] for key, value in rows.items()})
            seen = rows["probability"] > SEEN_FROM
            low, high = rows["extra_a"] < 0.08, rows["extra_a"] > 0.35
            print(
                f"{s['night']:5.0f}   {s['count']:12.0f}  {s['inside']:.3f}  {s['band']:.3f}"
                f"  {s['rmse']:4.1f} ({s['rmse_bare']:4.1f})  {seen[mid].mean():12.3f}"
                f"  {seen[low].mean():.3f}  {seen[high].mean():.3f}",
                flush=True,
            )


def _print_changes(options: argparse.Namespace) -> None:
    for step_v in STEPS_V:
        for extra_a in (0.06, 0.12, 0.25):
            rows = changing_rows(
                options.stands,
                options.seed + 2000,
                extra_a=extra_a,
                step_v=step_v,
                nights=(12, 13, 15, 20),
                workers=options.workers,
            )
            seen = [np.any([r["probability"] > SEEN_FROM for r in rows[: k + 1]], axis=0).mean()
                    for k in range(len(rows))]  # fmt: skip
            print(
                f"{extra_a * 1e3:3.0f} mA from day 10, {step_v:g} V: seen within 2/3/5/10 days "
                + " / ".join(f"{share:.3f}" for share in seen)
                + _onset(rows[-1], extra_a),
                flush=True,
            )


def _onset(rows: Rows, extra_a: float) -> str:
    """Say, of those found ten days later, how far off their beginning and size were."""
    found = rows["probability"] > SEEN_FROM
    if not found.any():
        return ""
    off = np.abs(rows["since_off"][found])
    inside_band = (rows["low_a"] <= extra_a) & (extra_a <= rows["high_a"])
    return (
        f"; beginning off by {np.nanmedian(off):.1f} days (median), "
        f"size inside its band {inside_band[found].mean():.2f}"
    )


def _print_accused(options: argparse.Namespace) -> None:
    for step_v in STEPS_V:
        rows = changing_rows(
            options.stands,
            options.seed + 3000,
            extra_a=0.0,
            step_v=step_v,
            nights=(3, 7, 10, 15, 20, 25, 30),
            workers=options.workers,
        )
        each = [r["probability"] > SEEN_FROM for r in rows]
        print(
            f"healthy 30-day stands accused, {step_v:g} V: any morning "
            f"{np.any(each, axis=0).mean():.4f}; by morning "
            + " ".join(
                f"{r['night'][0]:.0f}:{one.mean():.4f}" for r, one in zip(rows, each, strict=True)
            ),
            flush=True,
        )


PARTS = {
    "healthy": _print_healthy,
    "faulty": _print_faulty,
    "changes": _print_changes,
    "accused": _print_accused,
}


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--stands", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--parts", default=",".join(PARTS))
    parser.add_argument("--kinds", default=",".join(KINDS), help="of the part healthy")
    options = parser.parse_args()
    print(f"{options.stands} stands, seed {options.seed}")
    for part in options.parts.split(","):
        PARTS[part](options)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(f"\n{sum(one.ru_utime + one.ru_stime for one in used):.0f} s of processor time")


if __name__ == "__main__":
    main()
