"""Results that take minutes or other packages: stored files, and what they say in words.

`python -m tests.second_opinion.regenerate` writes them anew; tests recompute and compare.
"""

import json
from functools import cache
from importlib import resources
from typing import Any


@cache
def _document(name: str) -> dict[str, Any]:
    text = resources.files("drainsim").joinpath("evidence", "data", name).read_text("utf-8")
    document: dict[str, Any] = json.loads(text)
    return document


def twin() -> dict[str, Any]:
    """Return the stored twin experiment."""
    return _document("twin.json")


def weather() -> dict[str, Any]:
    """Return the stored comparison of real weather with monthly normals."""
    return _document("weather.json")


def sensitivity() -> dict[str, Any]:
    """Return the stored influence of each input."""
    return _document("sensitivity.json")


def constants() -> dict[str, Any]:
    """Return the stored changes of every constant; `holding` reads them."""
    return _document("constants.json")


def twin_words() -> tuple[str, ...]:
    """Return what the twin experiment showed."""
    said = {1.0: "as large as the true ones", 0.5: "half the true ones", 2.0: "twice the true ones"}
    sentences = []
    for result in twin()["results"]:
        low, high = 100.0 * result["failed_sooner"], 100.0 * result["failed_later"]
        sentences.append(
            f"With assumed spreads {said[result['factor']]}, the 10 to 90 % band held the true "
            f"day in {100.0 * result['covered_ties_split']:.1f} % of {result['vehicles']} "
            f"simulated vehicles (it should be 80 %); {low:.0f} % failed sooner, "
            f"{high:.0f} % later."
        )
    true = twin()["results"][0]["reliability"]
    pairs = ", ".join(f"{100 * row['said']:.0f} → {100 * row['happened']:.0f}" for row in true)
    sentences.append(f"Risk said → share that failed, in per cent, spreads as true: {pairs}.")
    sentences.append(
        "This shows that the arithmetic of draws is sound, not that the spreads are those of real "
        "vehicles. Spreads set too small make the answer overconfident; set too large they draw "
        "the band early, because no battery is more than full."
    )
    return tuple(sentences)


def weather_words() -> tuple[str, ...]:
    """Return how real weather and monthly normals compare."""
    rows = weather()["rows"]
    differences = [abs(row["difference_days"]) for row in rows]
    relative = [abs(row["difference_days"]) / max(row["normals_days"], 1.0) for row in rows]
    middle = [abs(row["real_days"] - row["normals_p50_days"]) for row in rows]
    inside = sum(row["real_within_band"] for row in rows)
    worst = max(rows, key=lambda row: abs(row["difference_days"]))
    return (
        f"In {len(rows)} pairs ({weather()['places_in_words']}) the stand with hourly typical "
        f"weather, without any chance, differs from that with the place's monthly normals by "
        f"{_mean(differences):.1f} days on average ({100 * _mean(relative):.0f} %), at most by "
        f"{max(differences):.0f} days "
        f"({worst['place']}, {worst['vehicle']}, parked {worst['parked_from']}: "
        f"{worst['real_days']:.0f} against {worst['normals_days']:.0f} days).",
        f"With random days about the normals, as `drainsim park` runs them, the middle answer "
        f"differs by {_mean(middle):.1f} days on average.",
        f"The answer with real weather lies inside the 10 to 90 % band of that with normals in "
        f"{inside} of {len(rows)} pairs.",
        "A cold spell ends a stand before the average does: with normals look at the early end.",
    )


def sensitivity_words() -> tuple[str, ...]:
    """Return which inputs decide."""
    document = sensitivity()
    rows = "; ".join(
        f"{row['label']} {row['mean_swing_days']:.1f} days ({100 * row['mean_swing_share']:.0f} %)"
        for row in document["inputs"]
    )
    return (
        document["conclusion"],
        f"Mean swing over {len(document['vehicles'])} vehicles, from the input's 10 % to its 90 % "
        f"value: {rows}.",
    )


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)
