"""Generic climates, units and vehicles that come with drainsim as data files."""

from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from drainsim.errors import ProfileError
from drainsim.files.formats import newest_of
from drainsim.files.reading import nearest, parse_toml


@dataclass(frozen=True, slots=True, kw_only=True)
class Preset:
    """A named set of values with its source."""

    key: str
    name: str
    source: str
    grade: str
    values: dict[str, Any]


@cache
def presets(kind: str) -> dict[str, Preset]:
    """Return the presets of a kind: "climates", "places", "sunshine", "units" or "vehicles"."""
    text = resources.files("drainsim").joinpath("data", f"{kind}.toml").read_text("utf-8")
    where = f"{kind}.toml"
    document = parse_toml(text, where=where, error=ProfileError)
    document = newest_of(document, "preset file", where=where, error=ProfileError)[kind]
    found = {}
    for key, entry in document.items():
        rest = {k: v for k, v in entry.items() if k not in {"name", "source", "grade", "settings"}}
        found[key] = Preset(
            key=key,
            name=entry["name"],
            source=entry["source"],
            grade=entry["grade"],
            values=entry.get("settings", rest),
        )
    return found


def preset(kind: str, key: str, *, where: str) -> Preset:
    """Return one preset.

    Raises
    ------
    ProfileError
        If there is none of that name; `where` names the key that asked for it.
    """
    available = presets(kind)
    if key not in available:
        hint = nearest(key, available).replace("valid keys", "available")
        raise ProfileError(f"{where} = {key!r}: no such preset; {hint}")
    return available[key]
