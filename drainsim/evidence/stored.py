"""Results that take minutes or other packages: stored files, and what they say in words.

`python -m tests.second_opinion.regenerate` writes them anew; tests recompute and compare.
"""

import json
from functools import cache
from importlib import resources
from typing import Any

from drainsim.language import Message, joined, message


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


def twin_words() -> tuple[Message, ...]:
    """Return what the twin experiment showed."""
    said = {
        1.0: message("as large as the true ones"),
        0.5: message("half the true ones"),
        2.0: message("twice the true ones"),
    }
    sentences = []
    for result in twin()["results"]:
        sentences.append(
            message(
                "With assumed spreads {spreads}, the 10 to 90 % band held the true day in "
                "{held:.1f} % of {vehicles} simulated vehicles (it should be 80 %); {sooner:.0f} % "
                "failed sooner, {later:.0f} % later.",
                spreads=said[result["factor"]],
                held=100.0 * result["covered_ties_split"],
                vehicles=result["vehicles"],
                sooner=100.0 * result["failed_sooner"],
                later=100.0 * result["failed_later"],
            )
        )
    true = twin()["results"][0]["reliability"]
    pairs = ", ".join(f"{100 * row['said']:.0f} → {100 * row['happened']:.0f}" for row in true)
    sentences.append(
        message(
            "Risk said → share that failed, in per cent, spreads as true: {pairs}.", pairs=pairs
        )
    )
    sentences.append(
        message(
            "This shows that the arithmetic of draws is sound, not that the spreads are those of "
            "real vehicles. Spreads set too small make the answer overconfident; set too large "
            "they draw the band early, because no battery is more than full."
        )
    )
    return tuple(sentences)


def weather_words() -> tuple[Message, ...]:
    """Return how real weather and monthly normals compare."""
    rows = weather()["rows"]
    differences = [abs(row["difference_days"]) for row in rows]
    relative = [abs(row["difference_days"]) / max(row["normals_days"], 1.0) for row in rows]
    middle = [abs(row["real_days"] - row["normals_p50_days"]) for row in rows]
    inside = sum(row["real_within_band"] for row in rows)
    worst = max(rows, key=lambda row: abs(row["difference_days"]))
    return (
        message(
            "In {pairs} pairs ({places}) the stand with hourly typical weather, without any "
            "chance, differs from that with the place's monthly normals by {mean:.1f} days on "
            "average ({percent:.0f} %), at most by {most:.0f} days ({place}, {vehicle}, parked "
            "{parked}: {real:.0f} against {normals:.0f} days).",
            pairs=len(rows),
            places=weather()["places_in_words"],
            mean=_mean(differences),
            percent=100 * _mean(relative),
            most=max(differences),
            place=worst["place"],
            vehicle=worst["vehicle"],
            parked=worst["parked_from"],
            real=worst["real_days"],
            normals=worst["normals_days"],
        ),
        message(
            "With random days about the normals, as `drainsim park` runs them, the middle answer "
            "differs by {mean:.1f} days on average.",
            mean=_mean(middle),
        ),
        message(
            "The answer with real weather lies inside the 10 to 90 % band of that with normals in "
            "{inside} of {pairs} pairs.",
            inside=inside,
            pairs=len(rows),
        ),
        message(
            "A cold spell ends a stand before the average does: with normals look at the early end."
        ),
    )


def sensitivity_words() -> tuple[str, ...]:
    """Return which inputs decide."""
    document = sensitivity()
    rows = joined(
        "; ",
        [
            message(
                "{input} {days:.1f} days ({percent:.0f} %)",
                input=message(row["label"]),
                days=row["mean_swing_days"],
                percent=100 * row["mean_swing_share"],
            )
            for row in document["inputs"]
        ],
    )
    return (
        document["conclusion"],
        message(
            "Mean swing over {vehicles} vehicles, from the input's 10 % to its 90 % value: {rows}.",
            vehicles=len(document["vehicles"]),
            rows=rows,
        ),
    )


def _mean(values: list[float]) -> float:
    return sum(values) / len(values)
