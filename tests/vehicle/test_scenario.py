"""Scenario files: what is accepted, what is refused and how, and the schema that says so."""

import datetime as dt
import tomllib
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drainsim.errors import ScenarioError
from drainsim.vehicle.keys.parameter import Parameter, Table
from drainsim.vehicle.keys.scenario import (
    scenario_from_dict,
    scenario_from_text,
    settings_from_words,
)
from drainsim.vehicle.keys.schema import (
    SCENARIO,
    example_toml,
    scenario_json_schema,
)

SCHEMA = scenario_json_schema()
VALIDATOR = jsonschema.Draft202012Validator(
    SCHEMA, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
)

# Keys the issue promises to scripts.
PROMISED = {
    "battery": "profile capacity_ah reserve_capacity_min cold_cranking_a cranking_standard "
    "age_years state_of_charge resting_voltage_v health",
    "unit": "sleep_a report_interval_h report_charge_as peak_a supply rated_at_v cutoff_v",
    "vehicle": "quiescent_a key_off_stages wake_ups engine_litres fuel cranking_demand_a "
    "minimum_cranking_v",
    "site": "temperature_c climate hourly_csv epw parked_from start_hour",
    "run": "horizon_days draws seed",
}


def fields_of(table: Table, path: str = "") -> Iterator[tuple[str, Parameter]]:
    """Yield every field of a table and of those inside it, with its dotted place."""
    for field in table.fields:
        yield f"{path}{field.key}", field
    for inner in table.tables:
        yield from fields_of(inner, f"{path}{inner.name}.")


FIELDS = dict(fields_of(SCENARIO))


def strategy_for(field: Parameter) -> st.SearchStrategy[Any]:
    """Return allowed values of a field."""
    if field.kind == "number":
        return st.floats(field.low, field.high)
    if field.kind == "integer":
        return st.integers(int(field.low), int(field.high))
    if field.kind == "choice":
        return st.sampled_from(list(field.choices))
    if field.kind == "date":
        return st.dates(dt.date(1900, 1, 1), dt.date(2199, 12, 31))
    letters = st.characters(blacklist_categories=["Cs", "Cc"])
    return st.text(letters, max_size=30)


def table_strategy(table: Table) -> st.SearchStrategy[Any]:
    """Return allowed contents of a table, any subset of its keys."""
    keys = {field.key: strategy_for(field) for field in table.fields}
    keys |= {inner.name: table_strategy(inner) for inner in table.tables}
    needed = {key: keys.pop(key) for key in table.required}
    one = st.fixed_dictionaries(needed, optional=keys)
    return st.lists(one, max_size=3) if table.repeated else one


def as_json(value: Any) -> Any:
    """Return scenario tables as JSON holds them."""
    if isinstance(value, dict):
        return {key: as_json(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [as_json(inner) for inner in value]
    return value.isoformat() if isinstance(value, dt.date) else value


def refused(tables: Any) -> bool:
    """Say whether our own check refuses some tables."""
    try:
        scenario_from_dict(tables)
    except ScenarioError:
        return True
    return False


def test_the_promised_keys_are_there() -> None:
    """Key names scripts rely on exist in their tables."""
    for table, keys in PROMISED.items():
        known = SCHEMA["properties"][table]["properties"]
        assert set(keys.split()) <= set(known), table


@pytest.mark.parametrize("place", sorted(FIELDS))
def test_every_key_is_documented(place: str) -> None:
    """Each key says what it means; numbers of a physical size carry their unit and limits."""
    field = FIELDS[place]
    assert len(field.meaning) > 5
    if field.kind in {"number", "integer"}:
        assert field.low < field.high < float("inf")
    units = {"_a": "A", "_ah": "Ah", "_v": "V", "_h": "h", "_s": "s", "_as": "A·s", "_min": "min"}
    ending = "_" + field.key.rsplit("_", 1)[-1]
    if "_" in field.key and ending in units:
        assert field.unit == units[ending], place
    assert field.key in example_toml()


def test_the_schema_is_a_valid_schema() -> None:
    """It passes the schema of schemas, and refuses unknown keys at every level."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["additionalProperties"] is False
    assert SCHEMA["required"] == ["battery"]


@settings(max_examples=60)
@given(tables=table_strategy(SCENARIO))
def test_what_the_schema_allows_is_accepted_and_written_back(tables: dict[str, Any]) -> None:
    """Any allowed document passes both checks and survives being written and read."""
    VALIDATOR.validate(as_json(tables))
    scenario = scenario_from_dict(tables)
    again = scenario_from_text(scenario.to_toml(), where="again.toml")
    assert again.tables == scenario.tables


BAD: list[dict[str, Any]] = [
    {},
    {"batery": {}},
    {"battery": []},
    {"battery": 60},
    {"battery": {"capacity_a": 60}},
    {"battery": {"capacity_ah": -1}},
    {"battery": {"capacity_ah": 0}},
    {"battery": {"capacity_ah": "60"}},
    {"battery": {"capacity_ah": True}},
    {"battery": {"capacity_ah": None}},
    {"battery": {"capacity_ah": [60]}},
    {"battery": {"capacity_ah": {"value": 60}}},
    {"battery": {"capacity_ah": 10**30}},
    {"battery": {"resting_voltage_v": 480}},
    {"battery": {"state_of_charge": 85}},
    {"battery": {"cranking_standard": "CA"}},
    {"battery": {"profile": 7}},
    {"battery": {"profile": "a\nb"}},
    {"battery": {"profile": "x" * 501}},
    {"battery": {}, "unit": {"ladder": {"below_v": 12}}},
    {"battery": {}, "unit": {"ladder": [{"below_v": 12}]}},
    {"battery": {}, "unit": {"ladder": [{"below_v": 12, "report_interval_h": 1, "x": 1}]}},
    {"battery": {}, "unit": {"report": {"wake": 1}}},
    {"battery": {}, "unit": {"supply": "buck"}},
    {"battery": {}, "vehicle": {"wake_ups": [{"every_h": 1}]}},
    {"battery": {}, "other": {"name": "x", "current_a": 1}},
    {"battery": {}, "other": [{"name": "x"}]},
    {"battery": {}, "other": [{"name": "x", "current_a": 0}] * 51},
    {"battery": {}, "site": {"parked_from": "12/01/2026"}},
    {"battery": {}, "site": {"parked_from": "1850-01-01"}},
    {"battery": {}, "site": {"start_hour": 24}},
    {"battery": {}, "site": {"start_hour": 7.5}},
    {"battery": {}, "run": {"draws": 10}},
    {"battery": {}, "run": {"draws": 10**9}},
    {"battery": {}, "run": {"seed": -1}},
    {"battery": {}, "uncertainty": {"demand_sigma": 5}},
]


@pytest.mark.parametrize("tables", BAD, ids=range(len(BAD)))
def test_schema_and_check_refuse_the_same_documents(tables: dict[str, Any]) -> None:
    """What the JSON Schema refuses our own check refuses too, and the other way round."""
    assert not VALIDATOR.is_valid(tables)
    as_read = dict(tables)
    date = (
        tables.get("site", {}).get("parked_from") if isinstance(tables.get("site"), dict) else None
    )
    if date and date[4] == "-":  # TOML reads it as a date, JSON has only text
        as_read["site"] = {"parked_from": dt.date.fromisoformat(date)}
    assert refused(as_read)


@settings(max_examples=80)
@given(
    place=st.sampled_from(
        [p for p, f in FIELDS.items() if f.kind == "number" and p.count(".") == 1]
    ),
    value=st.one_of(
        st.floats(allow_nan=False, allow_infinity=False), st.floats(-10, 100), st.text(max_size=3)
    ),
)
def test_schema_and_check_agree_on_any_number(place: str, value: float | str) -> None:
    """For any number key and any value both say the same."""
    table, key = place.split(".")
    if table == "other":
        tables: dict[str, Any] = {"battery": {}, "other": [{"name": "x", key: value}]}
    else:
        tables = {"battery": {}}
        tables.setdefault(table, {})[key] = value
    assert VALIDATOR.is_valid(tables) is not refused(tables)


@pytest.mark.parametrize("bad", [float("nan"), float("inf"), float("-inf")])
@pytest.mark.parametrize("place", [p for p, f in FIELDS.items() if f.kind == "number"][:8])
def test_not_a_number_is_refused_everywhere(place: str, bad: float) -> None:
    """TOML can write nan and inf; no key takes them."""
    table, key = place.split(".")
    with pytest.raises(ScenarioError, match=f"{place} = .*finite number"):
        scenario_from_dict({table: {key: bad}})


def test_the_example_reads_back_and_names_every_key() -> None:
    """The commented example is a valid scenario; its comments hold every other key."""
    scenario = scenario_from_text(example_toml(), where="example.toml")
    assert scenario.tables["battery"]["capacity_ah"] == 60
    for line in example_toml().splitlines():
        assert line == "" or line.startswith(("#", "[")) or " # " in line


@pytest.mark.parametrize("table", ["vehicle.key_off_stages", "vehicle.wake_ups", "other"])
def test_a_commented_list_of_the_example_can_be_opened(table: str) -> None:
    """Taking the comment signs off a list of the example gives a file that still reads."""
    opened, inside = [], False
    for line in example_toml().splitlines():
        if line.startswith(("# [", "[")):
            inside = line == f"# [[{table}]]"
        written = inside and ("=" in line or "[[" in line)
        opened.append(line.removeprefix("# ") if written else line)
    document = tomllib.loads("\n".join(opened))
    entry = document
    for part in table.split("."):
        entry = entry[part]
    assert entry[0]
    assert not refused(document)


def test_changes_by_dotted_key_are_checked_like_the_file() -> None:
    """Setting a value checks it; None takes a key out; the original stays."""
    before = scenario_from_dict({"battery": {"capacity_ah": 60, "age_years": 3}})
    after = before.with_values({"battery.age_years": 5, "run.draws": 200})
    assert after.tables == {"battery": {"capacity_ah": 60, "age_years": 5}, "run": {"draws": 200}}
    assert before.tables["battery"]["age_years"] == 3
    assert "age_years" not in before.with_values({"battery.age_years": None}).tables["battery"]
    with pytest.raises(ScenarioError, match=r"battery\.age_years = -1.* outside 0 to 20"):
        before.with_values({"battery.age_years": -1})


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("battery.age_years", "write it as key=value"),
        ("=4", "write it as key=value"),
        ("age_years=4", r"write the key as table\.key"),
        ("battery.=4", r"write the key as table\.key"),
        ("battery.agee=4", "unknown key; did you mean age_years"),
        ("batery.age_years=4", "unknown key; did you mean battery"),
        ("battery.age_years=four", "age_years = 'four': a number in years"),
        ("battery.age_years=", "a number in years"),
        ("battery.age_years=nan", "finite"),
        ("battery.age_years=4\nx = 1", "one value"),
        ("battery.age_years.x=4", "age_years is a value"),
        ("vehicle.wake_ups.every_h=4", "wake_ups is a list"),
        ("site.parked_from=2026-13-01", "a date is needed, written like 2026-12-01"),
        ("site.parked_from=2026-12-01T07:00:00", "a date is needed"),
        ("run.draws=1e3", "whole number"),
        ("battery=4", r"write the key as table\.key"),
    ],
)
def test_settings_that_make_no_sense_say_what_would(word: str, says: str) -> None:
    """--set words are read like TOML and refused like a file."""
    base = scenario_from_dict(
        {
            "battery": {"age_years": 3},
            "vehicle": {"wake_ups": [{"every_h": 1, "duration_s": 1, "current_a": 1}]},
        }
    )
    with pytest.raises(ScenarioError, match=says) as caught:
        base.with_values(settings_from_words([word]))
    assert "\n" not in str(caught.value)


def test_settings_take_toml_values_and_bare_text() -> None:
    """Numbers, dates and quoted text as in TOML; bare words are text."""
    assert settings_from_words(
        ["a.b=4", "a.c=2026-12-01", 'a.d="x"', "a.e=switching", "a.f=true"]
    ) == {"a.b": 4, "a.c": dt.date(2026, 12, 1), "a.d": "x", "a.e": "switching", "a.f": True}


@settings(max_examples=60)
@given(text=st.text(max_size=60))
def test_any_text_is_read_or_refused_in_one_line(text: str) -> None:
    """No text, however odd, raises anything but a one-line ScenarioError."""
    said = ""
    try:
        scenario_from_text(text, where="odd.toml")
    except ScenarioError as error:
        said = str(error)
    assert said == "" or said.startswith("odd.toml: ")
    assert "\n" not in said


@pytest.mark.parametrize(
    "text",
    [
        "[battery]\ncapacity_ah = " + "[" * 50_000,
        "[battery]\ncapacity_ah = [{" + "a." * 20_000 + "a = 1}]",
        "battery = [{" + "a." * 20_000 + "a = 1}]",
        "[battery]\n" + "a." * 3_000 + "a = 1",
        "[" + "a." * 20_000 + "a]",
        "[battery]\ncapacity_ah = " + "9" * 400,
        "[battery]\ncapacity_ah = " + "9" * 10_000,
        "[battery]\ncapacity_ah = 0x" + "F" * 10_000,
        "[battery]\ncapacity_ah = '" + "9" * 100_000 + "'",
        "[battery]\n" + "k" * 100_000 + " = 1",
    ],
    ids=range(10),
)
def test_deep_and_endless_values_are_refused_shortly(text: str) -> None:
    """Nesting and length end in one short sentence, not in a traceback or a screenful."""
    with pytest.raises(ScenarioError) as caught:
        scenario_from_text(text, where="deep.toml")
    assert len(str(caught.value)) < 700
