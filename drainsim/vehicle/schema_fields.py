"""The parts a scenario declaration is made of: fields and tables that check themselves."""

import contextlib
import datetime as dt
import math
import reprlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from drainsim.errors import ScenarioError
from drainsim.files.reading import nearest

_FIRST_YEAR, _LAST_YEAR = 1900, 2199  # sanity limits, well inside what dates can hold
_LONGEST_TEXT: Final = 500
_CONTROLS: Final = frozenset(map(chr, [*range(32), 127]))  # TOML allows none of them in a text
_SHORT: Final = reprlib.Repr()
_SHORT.maxlevel, _SHORT.maxstring, _SHORT.maxlong, _SHORT.maxother = 2, 60, 40, 60


def _brief(value: Any) -> str:
    """Return a wrong value as an error message shows it, however long or deep it is."""
    try:
        return _SHORT.repr(value)
    except ValueError:  # a whole number of more digits than Python prints
        return "a number of thousands of digits"


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One key: its kind, unit, limits, choices, default in words and meaning."""

    key: str
    kind: str  # number, integer, text, choice, date
    meaning: str
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    choices: tuple[str, ...] = ()
    default: str = ""
    example: Any = None

    def check(self, value: Any, *, where: str) -> Any:
        """Return the value in its own type, or raise a ScenarioError saying what is right."""
        shown = f"{where} = {_brief(value)}" if not isinstance(value, dict) else where
        if self.kind in {"number", "integer"}:
            return self._check_number(value, shown)
        if self.kind == "date":
            if isinstance(value, str):  # as JSON and a notebook write it
                with contextlib.suppress(ValueError):
                    value = dt.date.fromisoformat(value)
            if isinstance(value, dt.datetime) or not isinstance(value, dt.date):
                raise ScenarioError(f"{shown}: a date is needed, written like 2026-12-01")
            if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
                raise ScenarioError(
                    f"{where} = {value} is outside the years {_FIRST_YEAR} to {_LAST_YEAR}"
                )
            return value
        if not isinstance(value, str):
            raise ScenarioError(f"{shown}: text in quotes is needed")
        if self.kind == "choice" and value not in self.choices:
            raise ScenarioError(f"{shown}: use one of {', '.join(self.choices)}")
        if len(value) > _LONGEST_TEXT or any(letter in _CONTROLS for letter in value):
            raise ScenarioError(
                f"{where}: at most {_LONGEST_TEXT} characters on one line are allowed"
            )
        return value

    def _check_number(self, value: Any, shown: str) -> float | int:
        unit = f" {self.unit}" if self.unit else ""
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ScenarioError(f"{shown}: a number{' in' + unit if unit else ''} is needed")
        if self.kind == "integer" and not isinstance(value, int):
            raise ScenarioError(f"{shown}: a whole number is needed")
        if isinstance(value, float) and not math.isfinite(value):
            raise ScenarioError(f"{shown}: a finite number{' in' + unit if unit else ''} is needed")
        if not self.low <= value <= self.high:
            raise ScenarioError(
                f"{shown}{unit} is outside {self.low:g} to {self.high:g}{unit}; {self.meaning}"
            )
        return value if self.kind == "integer" else float(value)

    def json_schema(self) -> dict[str, Any]:
        """Return this key as a JSON Schema property."""
        schema: dict[str, Any] = {"description": self.description()}
        if self.kind in {"number", "integer"}:
            schema["type"] = self.kind
            if math.isfinite(self.low):
                schema["minimum"] = self.low
            if math.isfinite(self.high):
                schema["maximum"] = self.high
        else:
            schema["type"] = "string"
        if self.kind == "date":
            schema["format"] = "date"
            schema["pattern"] = "^(19|20|21)[0-9]{2}-"
        if self.kind == "text":
            schema["maxLength"] = _LONGEST_TEXT
            schema["pattern"] = "^[^\\u0000-\\u001f\\u007f]*$"
        if self.choices:
            schema["enum"] = list(self.choices)
        return schema

    def description(self) -> str:
        """Return meaning, unit and default in one line."""
        unit = f" [{self.unit}]" if self.unit else ""
        default = f" Default: {self.default}." if self.default else ""
        return f"{self.meaning}{unit}.{default}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A TOML table: its fields, sub-tables and lists of tables."""

    name: str
    meaning: str
    fields: tuple[Field, ...] = ()
    tables: tuple["Table", ...] = ()
    repeated: bool = False
    optional: bool = False  # its presence alone means something: commented out in the example
    required: tuple[str, ...] = ()

    def check(self, value: Any, *, where: str) -> Any:
        """Return the checked table (or list of tables)."""
        if not self.repeated:
            return self._check_one(value, where)
        if not isinstance(value, list):
            raise ScenarioError(f"{where}: a list of tables is needed")
        if len(value) > 50:
            raise ScenarioError(f"{where}: at most 50 entries are allowed, {len(value)} given")
        return [self._check_one(item, f"{where}[{index + 1}]") for index, item in enumerate(value)]

    def _check_one(self, value: Any, where: str) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise ScenarioError(f"{where}: a table is needed, got {_brief(value)}")
        members: dict[str, Field | Table] = {field.key: field for field in self.fields}
        members.update({table.name: table for table in self.tables})
        checked = {}
        for key, entry in value.items():
            place = f"{where}.{key}" if where else key
            if key not in members:
                raise ScenarioError(f"{place[:100]}: unknown key; {nearest(key[:100], members)}")
            checked[key] = members[key].check(entry, where=place)
        for key in self.required:
            if key not in checked:
                raise ScenarioError(f"{where}: {key} is missing")
        return checked

    def json_schema(self) -> dict[str, Any]:
        """Return this table as JSON Schema."""
        properties = {field.key: field.json_schema() for field in self.fields}
        properties.update({table.name: table.json_schema() for table in self.tables})
        schema: dict[str, Any] = {
            "type": "object",
            "description": self.meaning,
            "properties": properties,
            "additionalProperties": False,
        }
        if self.required:
            schema["required"] = list(self.required)
        return {"type": "array", "maxItems": 50, "items": schema} if self.repeated else schema


def number(key: str, unit: str, low: float, high: float, meaning: str, **more: Any) -> Field:
    """Return a field that holds a number."""
    return Field(key=key, kind="number", unit=unit, low=low, high=high, meaning=meaning, **more)
