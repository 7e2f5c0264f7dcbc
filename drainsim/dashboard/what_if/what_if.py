"""A baseline scenario and the choices made on top of it; no widgets here."""

import base64
import binascii
import dataclasses
import zlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, Final

from drainsim.dashboard.what_if.controls import CONTROLS, EITHER, OWN, PRESETS
from drainsim.dashboard.what_if.fitting import SWITCHES, Choices, chosen_tables, preset_of
from drainsim.dashboard.what_if.temperature_file import FOLDER
from drainsim.errors import DrainsimError, ScenarioError, one_line
from drainsim.files.reading import MAX_TOML_BYTES, decoded
from drainsim.language import marked, message, say
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.compatibility import charger_is_on
from drainsim.vehicle.keys.given import given_in
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict, scenario_from_text
from drainsim.vehicle.places.site_keys import SITE
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT

ADDRESSED: Final = "scenario of the address"
BASE: Final = "base"  # address key of a baseline that is not the example
_ADDRESS_BYTES: Final = 20_000  # a longer scenario is shared as a file
_NAME_LETTERS: Final = 80
_EXAMPLE_INSTEAD: Final = marked("Address: {error}. The example is shown instead.")
_NOT_KNOWN: Final = marked("Address: {name} is not known and was left out.")
_LEFT_OUT: Final = marked("Address: {name}={text} was left out: {reason}.")
_ABSENT: Final = {
    "unit": "no unit is fitted; choose a unit first",
    "maintainer": "no maintainer is connected; write maintainer=on",
    "solar": "there is no panel; write solar=on",
    "top_up": "there are no top-ups; write top_up=on",
}


@cache
def example() -> Scenario:
    """Return the invented example the first visit shows."""
    return scenario_from_dict(
        {
            "battery": {"profile": "flooded_calcium", "capacity_ah": 60.0},
            "unit": {"preset": "hourly"},
            "vehicle": {"preset": "compact_petrol"},
            "site": {"climate": "temperate"},
        },
        where="example",
    )


@cache
def own_vehicle() -> Scenario:
    """Return a vehicle of which nothing is known but the usual unit."""
    return scenario_from_dict({"battery": {}, "unit": {"preset": "hourly"}}, where="your vehicle")


def changed(base: Scenario, choices: Mapping[str, Any]) -> Scenario:
    """Return the baseline with choices applied; keys no control shows are kept.

    Another preset replaces its whole table, and what does not fit the choices is taken out: see
    `fitting.chosen_tables`.

    Raises
    ------
    ScenarioError
        If a value is not allowed, or belongs to something that is not there.
    """
    if "vehicle" in choices and "kind" in choices:
        raise ScenarioError("vehicle and kind are both given; keep one: a kind has its own values")
    tables, _ = chosen_tables(base, choices)
    values: dict[str, Any] = {}
    for name, value in choices.items():
        control = CONTROLS[name]
        if name in PRESETS or name in SWITCHES:
            continue
        table = control.key.table
        there = charger_is_on(tables, table) if table in SWITCHES else table in tables
        if table in _ABSENT and not there:
            raise ScenarioError(f"{name} is given but {_ABSENT[table]}")
        values[control.key] = control.to_scenario(value)
        for other in EITHER.get(name, ()):
            if other not in choices:
                values[CONTROLS[other].key] = None
    if values.get(UNIT.report_charge_as) is not None:
        values[UNIT.report] = None  # one charge instead of phases
    folder = FOLDER if given_in(tables, SITE.hourly_csv) else base.folder
    return dataclasses.replace(base, tables=tables, folder=folder).with_values(values)


def also_changed(base: Scenario, choices: Mapping[str, Any]) -> list[str]:
    """Return one phrase for each value the choices took out or brought along."""
    tables, gone = chosen_tables(base, choices)
    labels: dict[str, str] = {control.key: control.label for control in CONTROLS.values()}
    phrases = [say("{label}: no longer given", label=labels.get(key, key)) for key in gone]
    latitude, key = tables.get("solar", {}).get("latitude_deg"), SOLAR.latitude_deg
    brought = latitude is not None and base.get(SOLAR.latitude_deg) is None
    if brought and "latitude_deg" not in choices:
        phrases.append(say("{label}: {value:g}", label=labels[key], value=latitude))
    return phrases


def shown_values(case: Case, scenario: Scenario) -> Choices:
    """Return the value the answer really uses for every control, None where it uses none."""
    used = {item.name: item.value for item in case.assumptions}
    shown: Choices = {table: preset_of(scenario.tables, table) for table in PRESETS}
    shown |= {switch: charger_is_on(scenario.tables, switch) for switch in SWITCHES}
    for name, control in CONTROLS.items():
        if name in shown:
            continue
        value = used.get(control.key)
        if value is None:  # the auxiliary battery's values are in a case of its own
            value = scenario.get(control.key)
        shown[name] = None if value is None else control.shown(value)
    return shown


def with_fallbacks(values: Mapping[str, Any]) -> Choices:
    """Return where every control stands, a usual value where the answer uses none."""
    return {
        name: CONTROLS[name].fallback if value is None else value for name, value in values.items()
    }


def changes_in_words(
    before: Mapping[str, Any], after: Mapping[str, Any], choices: Mapping[str, Any]
) -> list[str]:
    """Return one phrase per choice: "Battery age [years]: 3 → 4"."""
    phrases = []
    for name in choices:
        control = CONTROLS[name].here()
        label = say(control.label)
        old, new = before.get(name), after.get(name)
        if old is None:
            phrases.append(f"{label}: {control.words(new)}")
        elif old == new:
            phrases.append(
                say(
                    "{label}: {value}, now taken as known",
                    label=control.label,
                    value=control.words(new),
                )
            )
        else:
            phrases.append(f"{label}: {control.words(old)} → {control.words(new)}")
    return phrases


def scenario_from_bytes(raw: bytes, name: str, folder: Path | None = None) -> Scenario:
    """Return an uploaded scenario, resolved once so that it is known to answer.

    Parameters
    ----------
    raw : bytes
    name : str
        Of the file.
    folder : Path, optional
        Of a temperature file it may name; None forbids files.

    Raises
    ------
    DrainsimError
        In one sentence.
    """
    where = "".join(letter for letter in name if letter.isprintable())[:_NAME_LETTERS]
    if len(raw) > MAX_TOML_BYTES:
        raise ScenarioError(f"{where}: at most {MAX_TOML_BYTES / 1e6:g} MB are read")
    text = decoded(raw, where=where, error=ScenarioError)
    scenario = scenario_from_text(text, where=where, folder=folder)
    resolve(scenario)
    return scenario


def to_address(base: Scenario, choices: Mapping[str, Any]) -> dict[str, str]:
    """Return the query of an address that opens this state."""
    query = {name: CONTROLS[name].write(value) for name, value in choices.items()}
    if base.tables == own_vehicle().tables:
        query[BASE] = OWN
    elif base.tables != example().tables:
        packed = zlib.compress(base.to_toml().encode(), 9)
        query[BASE] = base64.urlsafe_b64encode(packed).decode().rstrip("=")
    return query


def from_address(query: Mapping[str, str]) -> tuple[Scenario, Choices, list[str]]:
    """Return baseline, choices and one sentence for each part that cannot be used."""
    sentences: list[str] = []
    base = example()
    if query.get(BASE) == OWN:
        base = own_vehicle()
    elif BASE in query:
        try:
            base = _unpacked(query[BASE])
        except DrainsimError as error:
            sentences.append(message(_EXAMPLE_INSTEAD, error=one_line(str(error))))
    wanted: Choices = {}
    for name in query:
        if name != BASE and name not in CONTROLS:
            sentences.append(message(_NOT_KNOWN, name=one_line(name[:60])))
    for name, control in CONTROLS.items():
        if name not in query:
            continue
        try:
            wanted[name] = control.parse(query[name])
        except DrainsimError as error:
            sentences.append(_left_out(name, query[name], base, error))
    choices, refused = _that_fit(base, wanted)
    sentences += [_left_out(name, query[name], base, error) for name, error in refused.items()]
    return base, choices, sentences


def _that_fit(base: Scenario, wanted: Choices) -> tuple[Choices, dict[str, DrainsimError]]:
    """Return the choices that give an answer, and why each of the others does not.

    One at a time, and again while it helps: a choice may need another one first.
    """
    try:
        resolve(changed(base, wanted))
    except DrainsimError:
        pass
    else:
        return wanted, {}
    fit: Choices = {}
    refused: dict[str, DrainsimError] = {}
    left = dict(wanted)
    while left:
        refused = {}
        for name, value in left.items():
            try:
                resolve(changed(base, {**fit, name: value}))
            except DrainsimError as error:
                refused[name] = error
            else:
                fit[name] = value
        if len(refused) == len(left):
            break
        left = {name: wanted[name] for name in refused}
    return {name: fit[name] for name in wanted if name in fit}, refused


def _left_out(name: str, text: str, base: Scenario, error: DrainsimError) -> str:
    reason = str(error).removeprefix(f"{base.where}: ")
    return message(_LEFT_OUT, name=name, text=one_line(text[:40]), reason=one_line(reason))


def _unpacked(text: str) -> Scenario:
    """Return the scenario packed into an address."""
    if len(text) > _ADDRESS_BYTES:
        raise ScenarioError("the packed scenario is too long")
    try:
        packed = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
        opener = zlib.decompressobj()
        raw = opener.decompress(packed, MAX_TOML_BYTES)
    except (binascii.Error, zlib.error, ValueError):
        raise ScenarioError("the packed scenario is damaged; copy the whole address") from None
    if opener.unconsumed_tail or not opener.eof:
        raise ScenarioError("the packed scenario is damaged; copy the whole address")
    return scenario_from_bytes(raw, ADDRESSED, FOLDER)
