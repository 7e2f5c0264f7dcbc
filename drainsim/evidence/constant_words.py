"""What a constant of the model is called where people read it, not its name in the code."""

import re
import tomllib
from functools import cache
from importlib import resources
from typing import Any, Final

from drainsim.errors import DrainsimError
from drainsim.evidence import asking
from drainsim.files.presets import preset
from drainsim.vehicle.keys.schema import PARAMETERS

_TABLES: Final = {"units": "unit", "vehicles": "vehicle"}  # kind of preset → table of a scenario


@cache
def _words() -> dict[str, Any]:
    found = resources.files("drainsim").joinpath("evidence", "data", "constant_words.toml")
    return tomllib.loads(found.read_text("utf-8"))


def constant_in_words(constant: str) -> str:
    """Return what a constant is, as `tests.evidence.constants` names it in the code.

    Examples
    --------
    >>> constant_in_words("physics.oil._HOT.30[1]")
    'hot viscosity of oil grade, 30, value 2'
    >>> constant_in_words("default.battery.age_years")
    'default: age of the battery'
    """
    kind, _, rest = constant.partition(" ")
    if rest and kind != "rule":
        key, _, figure = rest.partition(".")
        name = re.split(r"[\[, ]", figure)[0]
        return f"{_title(kind, key)}: {_figure(kind, name)}{_which(figure.removeprefix(name))}"
    if constant.startswith("default."):
        return f"default: {_meaning(constant.removeprefix('default.'))}"
    known = next((name for name in _words()["code"] if constant.startswith(name)), "")
    if not known:
        return constant.rpartition(".")[2].strip("_").replace("_", " ").lower()
    return f"{_words()['code'][known]}{_which(constant.removeprefix(known))}"


def _which(place: str) -> str:
    """Return in words which of several values is meant."""
    found = re.findall(r"\[(at [^\]]+)\]|\(([^)]+)\)|\.(\w+)|\[(\d+)\]|, (.+)", place)
    words = [f"value {int(n) + 1}" if n else a or b or c or d for a, b, c, n, d in found]
    return "".join(f", {word}" for word in words)


def _title(kind: str, key: str) -> str:
    try:
        return asking.profile(key).name if kind == "profile" else preset(kind, key, where="").name
    except DrainsimError:
        return key


def _figure(kind: str, name: str) -> str:
    if kind in _TABLES:
        return _meaning(f"{_TABLES[kind]}.{name}")
    return str(_words().get(kind, {}).get(name) or name.replace("_", " "))


def _meaning(key: str) -> str:
    parameter = PARAMETERS.get(key)
    return parameter.meaning if parameter else key.replace("_", " ").replace(".", ", ")
