"""Battery types: one TOML file each, every figure with its source and grade."""

import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np

from drainsim.errors import ProfileError
from drainsim.files.formats import newest_of
from drainsim.files.reading import kept_unchanged, nearest, parse_toml, read_text
from drainsim.physics.tables import FloatArray

GRADES: Final = ("standard", "data sheet", "secondary", "common practice", "from memory")
FOLDER_VARIABLE: Final = "DRAINSIM_PROFILES"

_CURVES: Final = {
    "open_circuit_v",
    "specific_gravity",
    "cranking_share_by_temperature",
    "cranking_share_by_charge",
    "capacity_share_by_temperature",
}
# number: (lowest, highest) that a battery of this kind can have.
_NUMBERS: Final = {
    "open_circuit_temperature_c": (0.0, 40.0),
    "open_circuit_v_per_k": (-0.02, 0.02),
    "open_circuit_offset_sd_v": (0.0, 0.5),
    "open_circuit_shape_sd_v": (0.0, 0.5),
    "low_rate_gain": (0.001, 0.5),
    "reserve_minutes_factor": (0.01, 10.0),
    "reserve_minutes_exponent": (0.5, 2.0),
    "cold_cranking_a_per_ah": (0.5, 40.0),
    "cold_cranking_spread": (0.0, 1.0),
    "cranking_knee_v": (0.0, 3.0),
    "self_discharge_per_day": (0.0, 0.2),
    "self_discharge_sigma": (0.0, 2.0),
    "self_discharge_doubling_k": (2.0, 50.0),
    "service_life_years": (0.5, 30.0),
    "service_life_halving_k": (2.0, 50.0),
    "capacity_at_end_of_life": (0.1, 1.0),
    "cranking_at_end_of_life": (0.1, 1.0),
    "cranking_lateness": (1.0, 10.0),
    "lowest_charging_temperature_c": (-60.0, 30.0),
    "protection_cutoff_v": (5.0, 14.0),
}
_OPTIONAL: Final = {
    "specific_gravity",
    "open_circuit_offset_sd_v",
    "open_circuit_shape_sd_v",
    "cranking_lateness",
    "lowest_charging_temperature_c",
    "protection_cutoff_v",
}
_TEXTS: Final = ("name", "chemistry", "summary")


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A value of a profile with its provenance."""

    value: Any
    source: str
    grade: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)  # read once: one object, one hash
class BatteryProfile:
    """A battery type: figures by name, explained in `battery_profiles/README.md`."""

    key: str
    name: str
    chemistry: str
    summary: str
    figures: dict[str, Figure]

    def number(self, name: str) -> float:
        """Return a scalar figure."""
        return float(self.figures[name].value)

    def number_or(self, name: str, otherwise: float) -> float:
        """Return an optional scalar figure, or what stands for it."""
        return self.number(name) if self.has(name) else otherwise

    def curve(self, name: str) -> FloatArray:
        """Return a curve as rows of (x, y)."""
        return np.asarray(self.figures[name].value, dtype=float)

    def has(self, name: str) -> bool:
        """Say whether an optional figure is there."""
        return name in self.figures

    def provenance(self, name: str) -> str:
        """Return "source [grade]" of a figure."""
        figure = self.figures[name]
        return f"{figure.source} [{figure.grade}]"


@cache
def own_folder() -> Path:
    """Return the folder of the profiles that come with drainsim.

    Raises
    ------
    ProfileError
        If neither a checkout nor an installed package holds them.
    """
    package = Path(__file__).resolve().parents[1]
    for base in (package, package.parent):  # wheel, then checkout and editable install
        folder = base / "battery_profiles"
        if folder.is_dir():
            return folder
    raise ProfileError(f"battery_profiles not found in or beside {package}; reinstall drainsim")


def profile_folders(extra: Sequence[Path] = ()) -> list[Path]:
    """Return folders in search order: the caller's, the environment's, drainsim's own."""
    named = os.environ.get(FOLDER_VARIABLE, "")
    from_environment = [Path(part) for part in named.split(os.pathsep) if part]
    return [*extra, *from_environment, own_folder()]


def list_profiles(extra: Sequence[Path] = ()) -> dict[str, Path]:
    """Return profile key → file; a user's folder wins over drainsim's own.

    Raises
    ------
    ProfileError
        If a folder the user named does not exist.
    """
    found: dict[str, Path] = {}
    for folder in profile_folders(extra):
        if not folder.is_dir():
            raise ProfileError(f"{folder}: no such folder of battery profiles")
        for key, path in _files(folder, folder.stat().st_mtime_ns).items():
            found.setdefault(key, path)
    return dict(sorted(found.items()))


@lru_cache(maxsize=16)
def _files(folder: Path, _changed_ns: int) -> dict[str, Path]:
    """Return profile key → file of a folder."""
    return {path.stem: path for path in folder.iterdir() if path.suffix == ".toml"}


def load_profile(key: str, extra: Sequence[Path] = ()) -> BatteryProfile:
    """Return a battery profile by name.

    Raises
    ------
    ProfileError
        If there is none of that name, or its file is incomplete; names file and key.
    """
    available = list_profiles(extra)
    if key not in available:
        hint = nearest(key, available).replace("valid keys", "available")
        raise ProfileError(f"battery.profile = {key!r}: no such battery profile; {hint}")
    return read_profile(available[key])


@kept_unchanged(64)
def read_profile(path: Path) -> BatteryProfile:
    """Return the profile in a file.

    Raises
    ------
    ProfileError
        Naming the file, the key, what is wrong and what would be right.
    """
    text = read_text(path, error=ProfileError)
    document = parse_toml(text, where=str(path), error=ProfileError)
    document = newest_of(document, "battery profile", where=str(path), error=ProfileError)
    texts = {}
    for key in _TEXTS:
        text = document.pop(key, None)
        if not isinstance(text, str) or not text:
            raise ProfileError(f"{path}: {key} is missing; give a short text")
        texts[key] = text
    known = _CURVES | set(_NUMBERS)
    for key in document:
        if key not in known:
            raise ProfileError(f"{path}: unknown key {key}; {nearest(key, known)}")
    missing = sorted(known - _OPTIONAL - set(document))
    if missing:
        raise ProfileError(f"{path}: {missing[0]} is missing; every profile needs it")
    figures = {key: _figure(path, key, entry) for key, entry in document.items()}
    return BatteryProfile(key=path.stem, figures=figures, **texts)


def _figure(path: Path, key: str, entry: Any) -> Figure:
    """Check one figure's table."""
    if not isinstance(entry, dict) or set(entry) != {"value", "source", "grade"}:
        raise ProfileError(f"{path}: {key} must be a table with value, source and grade")
    if entry["grade"] not in GRADES:
        raise ProfileError(f"{path}: {key}.grade must be one of {', '.join(GRADES)}")
    if not isinstance(entry["source"], str) or not entry["source"].strip():
        raise ProfileError(f'{path}: {key}.source is empty; "common practice, no source" will do')
    value = entry["value"]
    if key in _CURVES:
        _check_curve(path, key, value)
    else:
        low, high = _NUMBERS[key]
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ProfileError(f"{path}: {key}.value must be a number")
        if not low <= value <= high:
            raise ProfileError(f"{path}: {key}.value = {value} is outside {low:g} to {high:g}")
    return Figure(value=value, source=entry["source"], grade=entry["grade"])


def _check_curve(path: Path, key: str, value: Any) -> None:
    """Refuse a curve that is not at least two [x, y] points with x strictly rising."""
    try:
        points = np.asarray(value, dtype=float)
    except (TypeError, ValueError, OverflowError):
        points = np.empty((0, 0))
    if points.ndim != 2 or points.shape[1:] != (2,) or len(points) < 2:
        raise ProfileError(f"{path}: {key}.value must be a list of [x, y] points, two or more")
    if not np.isfinite(points).all() or not (np.diff(points[:, 0]) > 0).all():
        raise ProfileError(f"{path}: {key}.value needs finite points with x strictly rising")
    if not (np.diff(points[:, 1]) >= 0).all():
        raise ProfileError(f"{path}: {key}.value must not fall from one point to the next")
    if key in {"open_circuit_v", "specific_gravity", "cranking_share_by_charge"} and (
        points[0, 0] != 0.0 or points[-1, 0] != 1.0
    ):
        raise ProfileError(f"{path}: {key}.value must run from state of charge 0 to 1")
    if key == "open_circuit_v" and not (np.diff(points[:, 1]) > 0).all():
        raise ProfileError(f"{path}: open_circuit_v.value must rise with charge at every point")
