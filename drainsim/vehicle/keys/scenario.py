"""A scenario from a file, a text or a dictionary."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from drainsim.errors import ScenarioError
from drainsim.files.formats import newest_of
from drainsim.files.reading import key_and_value, parse_toml, read_text
from drainsim.vehicle.keys.given import Scenario as Scenario
from drainsim.vehicle.keys.given import measured_in
from drainsim.vehicle.keys.schema import SCENARIO


def scenario_from_dict(
    tables: Mapping[str, Any], *, where: str = "scenario", folder: Path | None = None
) -> Scenario:
    """Return a checked scenario.

    Parameters
    ----------
    tables : mapping
        Tables of a scenario, by name.
    where : str
        Name of the scenario in messages.
    folder : Path, optional
        Where relative weather files are looked for; None forbids files.

    Raises
    ------
    ScenarioError
        Naming the key, what is wrong and what would be right.
    """
    document = newest_of(tables, "scenario", where=where, error=ScenarioError)
    try:
        checked = SCENARIO.check(document, where="")
    except ScenarioError as error:
        raise ScenarioError(f"{where}: {error}") from None
    return Scenario(tables=checked, where=where, folder=folder, origins=measured_in(checked))


def scenario_from_text(text: str, *, where: str, folder: Path | None = None) -> Scenario:
    """Return the scenario in a TOML text; same errors as `scenario_from_dict`.

    Parameters
    ----------
    text : str
        TOML.
    where : str
        Name of the scenario in messages.
    folder : Path, optional
        Where relative weather files are looked for; None forbids files.
    """
    document = parse_toml(text, where=where, error=ScenarioError)
    return scenario_from_dict(document, where=where, folder=folder)


def read_scenario(path: Path) -> Scenario:
    """Return the scenario in a TOML file.

    Raises
    ------
    ScenarioError
        Naming the file, the key, what is wrong and what would be right.
    """
    text = read_text(path, error=ScenarioError)
    return scenario_from_text(text, where=str(path), folder=path.resolve().parent)


def settings_from_words(words: Iterable[str]) -> dict[str, Any]:
    """Return dotted keys and values from "battery.age_years=4" words, values as in TOML.

    Raises
    ------
    ScenarioError
        If a word has no "=" or its value is not TOML; bare text counts as text.
    """
    settings: dict[str, Any] = {}
    for word in words:
        form = "key=value, like battery.age_years=4"
        key, text = key_and_value(word, where="--set", form=form, error=ScenarioError)
        try:
            parsed = parse_toml(f"value = {text}", where="--set", error=ScenarioError)
        except ScenarioError:
            parsed = {"value": text}
        if set(parsed) != {"value"}:
            raise ScenarioError(f"--set {key[:60]}: give one value, on one line")
        settings[key] = parsed["value"]
    return settings
