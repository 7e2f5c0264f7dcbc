"""A scenario key is declared once: its default, its words and its controls come from there."""

import ast
import datetime as dt
import math
import pickle
import re
from pathlib import Path

import jsonschema
import pytest

from drainsim.dashboard.what_if.controls import CONTROLS
from drainsim.errors import ScenarioError
from drainsim.files.fleet.columns import COLUMNS
from drainsim.vehicle.case import resolve
from drainsim.vehicle.keys.parameter import Keys, Parameter, number
from drainsim.vehicle.keys.scenario import scenario_from_dict
from drainsim.vehicle.keys.schema import BY_COLUMN, PARAMETERS
from drainsim.vehicle.places.solar import SOLAR
from drainsim.vehicle.unit import UNIT

PACKAGE = Path(__file__).resolve().parents[2] / "drainsim"
_LOWER = {"physics", "files"}  # they know no scenario


def _sources() -> list[Path]:
    return [
        path
        for path in sorted(PACKAGE.rglob("*.py"))
        if path.relative_to(PACKAGE).parts[0] not in _LOWER
    ]


def _calls(path: Path) -> list[ast.Call]:
    tree = ast.parse(path.read_text("utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.Call)]


@pytest.mark.parametrize("name", sorted(PARAMETERS))
def test_a_default_is_one_its_own_key_accepts(name: str) -> None:
    """Defaults, those of other kinds and the example pass the check of their key."""
    parameter = PARAMETERS[name]
    values = [parameter.default, *parameter.usual_for.values(), parameter.example]
    for value in values:
        if value is not None:
            parameter.check(value, where=name)
    assert parameter.needs in {"", *PARAMETERS}


def test_a_default_lives_once() -> None:
    """Where a key is taken no second number stands, and a key with words alone has no figure."""
    twice = []
    for path in sorted((PACKAGE / "vehicle").glob("*.py")):
        for call in _calls(path):
            name = getattr(call.func, "attr", getattr(call.func, "id", ""))
            figures = [
                inner.value
                for given in call.args[1:]
                for inner in ast.walk(given)
                if isinstance(inner, ast.Constant) and isinstance(inner.value, int | float)
            ]
            if name in {"take", "take_with_origin", "get_or_default"} and figures:
                twice.append(f"{path.name}:{call.lineno} {figures}")
    for parameter in PARAMETERS.values():
        unit = rf" {re.escape(parameter.unit)}" if parameter.unit else ""
        if re.search(rf"\b[0-9.]+{unit}$", parameter.otherwise) and "+" not in parameter.otherwise:
            twice.append(f"{parameter}: {parameter.otherwise}")
    assert twice == []


def test_no_key_is_written_as_text() -> None:
    """Keys are attributes everywhere above files/."""
    found = []
    for path in _sources():
        tree = ast.parse(path.read_text("utf-8"))
        docstrings = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
            and node.body
            and isinstance(node.body[0], ast.Expr)
        }
        found += [
            f"{path.name}:{node.lineno} {node.value}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant)
            and id(node) not in docstrings
            and isinstance(node.value, str)
            and node.value in PARAMETERS
            and "." in node.value
        ]
    assert found == []


def test_what_is_calculated_with_is_what_the_words_say() -> None:
    """A panel's efficiency was 0.6 in words and 0.5967 in the calculation: now one value."""
    scenario = scenario_from_dict(
        {"battery": {}, "solar": {"panel_w": 20.0}, "run": {"draws": 100, "horizon_days": 3}}
    )
    used = {item.name: item.value for item in resolve(scenario).assumptions}
    assert used[SOLAR.efficiency] == SOLAR.efficiency.default
    assert f"Default: {used[SOLAR.efficiency]:g}." in SOLAR.efficiency.description()


def test_what_a_report_assumes_is_listed() -> None:
    """Fix times and the orbit data's validity nobody gave stand among the assumptions."""
    report = {"fix_a": 0.05, "transmit_a": 0.2, "transmit_s": 10.0, "fix_cold_s": 40.0}
    scenario = scenario_from_dict(
        {"battery": {}, "unit": {"report": report}, "run": {"draws": 100, "horizon_days": 3}}
    )
    used = {item.name: item for item in resolve(scenario).assumptions}
    warm = used["unit.report.fix_warm_s"]
    assert (warm.value, warm.unit, warm.origin) == (28.0, "s", "default")
    assert used["unit.report.ephemeris_valid_h"].value == 4.0
    assert "unit.report.fix_cold_s" not in used  # given, and listed with the report


def test_controls_take_their_words_and_limits_from_the_key() -> None:
    """A page may narrow a range, never widen it; label, note and default are the key's."""
    for control in CONTROLS.values():
        if control.kind == "switch":
            continue
        assert control.key.label, control.name
        assert control.label.startswith(control.key.label), control.name
        assert control.note == control.key.note
        if control.kind in {"slider", "box"}:
            low, high = control.to_scenario(control.low), control.to_scenario(control.high)
            assert control.key.low - 1e-9 <= low < high <= control.key.high + 1e-9, control.name


def test_a_parameter_is_its_own_dotted_name() -> None:
    """It stands where a name does, as a dictionary's key too, and survives a pickle."""
    assert UNIT.sleep_a == "unit.sleep_a"
    assert {UNIT.sleep_a: 1}["unit.sleep_a"] == 1
    assert (UNIT.sleep_a.table, UNIT.sleep_a.key) == ("unit", "sleep_a")
    copied = pickle.loads(pickle.dumps(UNIT.sleep_a))
    assert isinstance(copied, Parameter)
    assert (copied, copied.unit, copied.default) == (UNIT.sleep_a, "A", UNIT.sleep_a.default)


def test_defaults_by_case_are_told() -> None:
    """The first case that has a default of its own decides; words list them all."""

    class EXAMPLE(Keys, name="example"):
        """An invented table."""

        load_a = number((0, math.inf, "A"), "load", default=2.5, usual_for={"small": 1.0})

    assert EXAMPLE.load_a.usual("large", "small") == 1.0
    assert EXAMPLE.load_a.usual("large") == 2.5
    assert EXAMPLE.load_a.default_in_words() == "2.5 A; small: 1 A"


def test_every_column_of_a_list_that_feeds_a_scenario_has_its_key() -> None:
    """The key names its column; the column knows only the table, as files/ knows no vehicle."""
    derived = {"parked_days"}  # becomes the day of parking
    assert set(BY_COLUMN) == {column.name for column in COLUMNS if column.room} - derived
    for column in COLUMNS:
        if column.room and column.name not in derived:
            assert BY_COLUMN[column.name].table == column.room


def test_what_a_ladder_and_trips_leave_open_is_listed() -> None:
    """A step's resume voltage, a trip's days and the auxiliary battery's type count as assumed."""
    scenario = scenario_from_dict(
        {
            "battery": {"system": "auxiliary"},
            "unit": {
                "fed_from": "auxiliary",
                "ladder": [{"below_v": 12.0, "report_interval_h": 24.0}],
            },
            "pattern": {"trips": [{"start": "07:30", "minutes": 30.0}], "weeks": 1},
            "run": {"draws": 100, "horizon_days": 3},
        }
    )
    case = resolve(scenario)
    assert case.auxiliary is not None
    used = {item.name: item for item in case.assumptions}
    beside = {item.name: item for item in case.auxiliary.assumptions}
    assert (used["unit.ladder.resume_v"].value, used["unit.ladder.resume_v"].unit) == (12.2, "V")
    assert used["pattern.trips.days"].value == "daily"
    assert beside["battery.profile"].origin == beside["battery.capacity_ah"].origin == "default"


@pytest.mark.parametrize(
    ("key", "value", "right"),
    [
        ("site.hourly_csv", "x" * 500, True),
        ("site.hourly_csv", "x" * 501, False),
        ("site.hourly_csv", "tab\there", False),
        ("site.hourly_csv", "delete\x7f", False),
        ("site.hourly_csv", "space there", True),
        ("site.parked_from", dt.date(1900, 1, 1), True),
        ("site.parked_from", dt.date(1899, 12, 31), False),
        ("site.parked_from", dt.date(2199, 12, 31), True),
        ("site.parked_from", dt.date(2200, 1, 1), False),
        ("run.seed", 2**32 - 1, True),
        ("run.seed", 2**32, False),
    ],
)
def test_a_value_is_taken_up_to_its_limit_and_the_schema_agrees(
    key: str, value: object, right: bool
) -> None:
    """Texts of one line and 500 characters, dates of three centuries, seeds of 32 bits."""
    parameter = PARAMETERS[key]
    written = value.isoformat() if isinstance(value, dt.date) else value
    validator = jsonschema.Draft202012Validator(parameter.json_schema())
    assert validator.is_valid(written) == right
    if right:
        assert parameter.check(value, where=key) == value
    else:
        with pytest.raises(ScenarioError):
            parameter.check(value, where=key)


@pytest.mark.parametrize(("entries", "right"), [(50, True), (51, False)])
def test_a_list_holds_fifty_tables_and_the_schema_agrees(entries: int, right: bool) -> None:
    """More than fifty loads or rungs of a ladder are no scenario of this model."""
    listed = [{"below_v": 12.0, "report_interval_h": 1.0}] * entries
    table = UNIT.ladder.inside
    assert table is not None
    assert jsonschema.Draft202012Validator(table.json_schema()).is_valid(listed) == right
    if right:
        assert len(table.check(listed, where="unit.ladder")) == entries
    else:
        with pytest.raises(ScenarioError, match="at most 50 entries"):
            table.check(listed, where="unit.ladder")
