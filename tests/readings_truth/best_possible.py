"""A yardstick: bands learned on the truth itself, which no product can know.

python -m tests.readings_truth.best_possible [--vehicles 64000] [--nights 2,7,21]

A small network is trained with the pinball loss (Koenker & Bassett 1978) on vehicles of the very
truth the back-test asks about: once from what a list says, once from list and night voltages. Its
ends are moved until a tenth of vehicles kept apart lies beyond each (Romano, Patterson & Candès
2019). Trained on fewer vehicles its bands are narrower and hold less often: judge them by their
interval score. Vehicles, places and mornings as in `back_test`, 10 mV steps.
"""

import argparse
from itertools import pairwise
from typing import Any

import numpy as np

from tests.readings_truth.back_test import FLEETS, morning_of
from tests.readings_truth.battery import Array
from tests.readings_truth.scoring import inside, interval_score, night_medians, rmse, width
from tests.readings_truth.truth import HORIZON_DAYS, stands
from tests.readings_truth.voltmeter import read

_SEED = 9000
_CHUNK = 400  # vehicles of a fleet at a time
_QUANTILES = np.array([0.1, 0.5, 0.9])
_HIDDEN = 48
_ROUNDS, _BATCH, _RATE = 120, 256, 3e-3
_DAYS_FROM = 3.0  # days are learned as log(days + 3)


def _listed(says: dict[str, Any], place: int) -> Array:
    """Return what a list says as numbers; a second column says what it does not."""
    ratio = says["cold_cranking_a"] / says["capacity_ah"]
    columns = [says["battery_type"] == kind for kind in ("agm", "enhanced_flooded")]
    columns += [says["capacity_ah"], says["engine_litres"], says["fuel"] == "diesel"]
    for values in (ratio, says["battery_age_years"], np.log(says["quiescent_a"])):
        columns += [np.where(np.isnan(values), np.nanmedian(values), values), np.isnan(values)]
    columns += [np.full(len(ratio), place == number) for number in range(len(FLEETS))]
    return np.stack(columns, axis=1).astype(float)


def _told(medians: Array) -> Array:
    """Return level and falls of the nights so far, shape (vehicles, figures)."""
    last = medians[:, -1]
    back = [k for k in (1, 3, 6, 10, 13, 17) if k < medians.shape[1] - 1]
    falls = [last - medians[:, -1 - k] for k in back]
    smooth = medians[:, -3:].mean(axis=1) - medians[:, :4].mean(axis=1)
    return np.stack([last - 12.5, last - medians[:, 0], smooth, *falls], axis=1)


def vehicles(count: int, nights: tuple[int, ...]) -> dict[int, tuple[Array, Array, Array]]:
    """Return for each night what lists say, what voltages tell, and the days left, of the alive."""
    parts: dict[int, list[tuple[Array, Array, Array]]] = {night: [] for night in nights}
    for chunk in range(-(-count // (_CHUNK * len(FLEETS)))):
        for number, (place, begin) in enumerate(FLEETS):
            s = stands([_SEED, chunk, number], _CHUNK, place=place, begin=begin)
            last = morning_of(begin, max(nights))
            readings = read(s, [_SEED, chunk, number, 5], days=last, step_v=0.01)
            medians = np.full((_CHUNK, max(nights)), np.nan)
            for one, reported in enumerate(readings):
                at, volts = night_medians(s, reported, last)
                night = np.round(at - (4 - begin.hour) / 24).astype(int) - 1
                seen = (night >= 0) & (night < max(nights))
                medians[one, night[seen]] = volts[seen]
            for night in range(1, max(nights)):  # a night without a reading: as the one before
                gone = np.isnan(medians[:, night])
                medians[gone, night] = medians[gone, night - 1]
            listed = _listed(s.says, number)
            for night in nights:
                day = morning_of(begin, night)
                alive = s.alive(day) & np.isfinite(medians).all(axis=1)
                days = np.minimum(s.days_left(day), HORIZON_DAYS)
                told = _told(medians[:, :night])
                parts[night].append((listed[alive], told[alive], days[alive]))
    return {
        night: (
            np.concatenate([part[0] for part in found]),
            np.concatenate([part[1] for part in found]),
            np.concatenate([part[2] for part in found]),
        )
        for night, found in parts.items()
    }


def _layers(rng: np.random.Generator, inputs: int) -> list[Array]:
    sizes = (inputs, _HIDDEN, _HIDDEN, len(_QUANTILES))
    weights = [rng.standard_normal(size) * np.sqrt(2 / size[0]) for size in pairwise(sizes)]
    return [*weights, *(np.zeros(size) for size in sizes[1:])]


def _through(layers: list[Array], x: Array) -> tuple[Array, Array, Array]:
    first = np.tanh(x @ layers[0] + layers[3])
    second = np.tanh(first @ layers[1] + layers[4])
    return first, second, second @ layers[2] + layers[5]


def _slopes(layers: list[Array], x: Array, y: Array) -> list[Array]:
    """Return the gradient of the mean pinball loss."""
    first, second, out = _through(layers, x)
    of_out = np.where(y[:, None] > out, -_QUANTILES, 1 - _QUANTILES) / len(x)
    of_second = (of_out @ layers[2].T) * (1 - second**2)
    of_first = (of_second @ layers[1].T) * (1 - first**2)
    return [
        x.T @ of_first, first.T @ of_second, second.T @ of_out,
        of_first.sum(axis=0), of_second.sum(axis=0), of_out.sum(axis=0),
    ]  # fmt: skip


def _loss(layers: list[Array], x: Array, y: Array) -> float:
    apart = y[:, None] - _through(layers, x)[2]
    return float(np.mean(np.maximum(_QUANTILES * apart, (_QUANTILES - 1) * apart)))


def learned_bands(x: Array, days: Array, asked: Array) -> Array:
    """Return p10, p50, p90 of the days of `asked`, learned from `x` and `days`.

    Adam (Kingma & Ba 2015); of all rounds the one that is best on an eighth kept apart, on which
    its quantiles are then set right.
    """
    rng = np.random.default_rng(1)
    mean, sd = x.mean(axis=0), x.std(axis=0) + 1e-9
    x, asked = (np.clip((part - mean) / sd, -4, 4) for part in (x, asked))
    y = np.log(days + _DAYS_FROM)
    level, scale = y.mean(), y.std()
    y = (y - level) / scale
    apart = len(x) // 8
    layers = _layers(rng, x.shape[1])
    speed = [(np.zeros_like(layer), np.zeros_like(layer)) for layer in layers]
    best, kept, step = np.inf, layers, 0
    for number in range(_ROUNDS):
        rate = _RATE * 0.5 * (1 + np.cos(np.pi * number / _ROUNDS))
        order = apart + rng.permutation(len(x) - apart)
        for begin in range(0, len(order) - _BATCH, _BATCH):
            batch = order[begin : begin + _BATCH]
            step += 1
            for at, slope in enumerate(_slopes(layers, x[batch], y[batch])):
                speed[at] = (0.9 * speed[at][0] + 0.1 * slope,
                             0.999 * speed[at][1] + 0.001 * slope**2)  # fmt: skip
                fast, square = speed[at][0] / (1 - 0.9**step), speed[at][1] / (1 - 0.999**step)
                layers[at] = layers[at] - rate * fast / (np.sqrt(square) + 1e-8)
        if (loss := _loss(layers, x[:apart], y[:apart])) < best:
            best, kept = loss, list(layers)
    off = y[:apart, None] - _through(kept, x[:apart])[2]
    moved = [np.quantile(off[:, at], share) for at, share in enumerate(_QUANTILES)]
    out = np.sort(_through(kept, asked)[2] + moved, axis=1) * scale + level
    return np.clip(np.exp(out) - _DAYS_FROM, 0, HORIZON_DAYS)


def main() -> None:
    """Print bands of list and voltages over those of the list alone, and how good they are."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--vehicles", type=int, default=64000)
    parser.add_argument("--nights", default="2,7,21")
    options = parser.parse_args()
    nights = tuple(int(night) for night in options.nights.split(","))
    print("night vehicles  inside (list alone)   band  rmse (list alone)  interval (list alone)")
    for night, (listed, told, days) in vehicles(options.vehicles, nights).items():
        order = np.random.default_rng(3).permutation(len(days))
        known, asked = order[len(order) // 5 :], order[: len(order) // 5]
        bands = [
            learned_bands(x[known], days[known], x[asked])
            for x in (listed, np.concatenate([listed, told], axis=1))
        ]
        bare, with_nights = ((band[:, 0], band[:, 1], band[:, 2]) for band in bands)
        truth = days[asked]
        shares = [inside(truth, low, high).mean() for low, _, high in (with_nights, bare)]
        errors = [rmse(truth, middle) for _, middle, _ in (with_nights, bare)]
        interval = [interval_score(truth, low, high) for low, _, high in (with_nights, bare)]
        ratio = width(with_nights[0], with_nights[2]).mean() / width(bare[0], bare[2]).mean()
        print(
            f"{night:5d} {len(asked):8d}   {shares[0]:.3f} ({shares[1]:.3f})       {ratio:.2f}  "
            f"{errors[0]:4.1f} ({errors[1]:.1f})           {interval[0]:.1f} ({interval[1]:.1f})",
            flush=True,
        )


if __name__ == "__main__":
    main()
