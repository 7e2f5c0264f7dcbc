"""A scenario key declared once: name, unit, limits, default, source, words on a page."""

import contextlib
import datetime as dt
import math
import reprlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, ClassVar, Final

from drainsim.errors import ScenarioError
from drainsim.files.reading import nearest

PRACTICE: Final = "common practice, no source"
_FIRST_YEAR, _LAST_YEAR = 1900, 2199  # sanity limits, well inside what dates can hold
_LONGEST_TEXT: Final = 500
_MOST_ENTRIES: Final = 50  # of a list of tables
_CONTROLS: Final = frozenset(map(chr, [*range(32), 127]))  # TOML allows none of them in a text
_SHORT: Final = reprlib.Repr()
_SHORT.maxlevel, _SHORT.maxstring, _SHORT.maxlong, _SHORT.maxother = 2, 60, 40, 60


def _brief(value: Any) -> str:
    """Return a wrong value as an error message shows it, however long or deep it is."""
    try:
        return _SHORT.repr(value)
    except ValueError:  # a whole number of more digits than Python prints
        return "a number of thousands of digits"


def _said(where: str, value: Any) -> str:
    return where if isinstance(value, dict) else f"{where} = {_brief(value)}"


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class Parameter(str):
    """One key of a scenario, declared once: everything that asks about it asks here.

    It is its own dotted name, "unit.sleep_a", so it stands wherever such a name does: in changes
    to a scenario, in the names of assumptions, in messages.

    Parameters
    ----------
    name : str
        Table and key; `Keys` fills it in.
    kind : str
        number, integer, text, choice, date, table or list (of tables).
    meaning : str
        What it says, in the words of a sentence's end.
    unit : str
        Of the value, the default and the limits.
    low, high : float
        What is accepted, ends included.
    choices : mapping
        What a choice is between, and what a page calls each.
    default : object
        The value taken where none is given; None where there is none or it is worked out.
    usual_for : mapping
        Defaults that hold for a kind of vehicle or an arrangement instead.
    otherwise : str
        In words, what is done where the default is not a value.
    source : str
        Where the default comes from.
    example : object
        What the example file shows.
    label, note : str
        Its name on a page, and what to say beside it.
    step : float
        Of a control. In `unit`, unless the control shows another one.
    column : str
        Of a fleet list, that gives it.
    needs : str
        The other key without which this one means nothing.
    inside : Table, optional
        What a table or list holds.
    """

    name: str = field(default="", kw_only=False)
    kind: str = "number"
    meaning: str = ""
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    choices: Mapping[str, str] = field(default_factory=dict)
    default: Any = None
    usual_for: Mapping[str, Any] = field(default_factory=dict)
    otherwise: str = ""
    source: str = ""
    example: Any = None
    label: str = ""
    note: str = ""
    step: float = 1.0
    column: str = ""
    needs: str = ""
    inside: "Table | None" = None

    def __new__(cls, name: str = "", **_: Any) -> "Parameter":
        """Return the dotted name itself; the dataclass adds what is known about it."""
        return super().__new__(cls, name)

    @cached_property
    def table(self) -> str:
        """Name of the table it stands in."""
        return self.partition(".")[0]

    @cached_property
    def key(self) -> str:
        """Its name in that table."""
        return self.rpartition(".")[2]

    def usual(self, *cases: str) -> Any:
        """Return the default in the first of these cases that has one of its own."""
        return next((self.usual_for[c] for c in cases if c in self.usual_for), self.default)

    def default_in_words(self) -> str:
        """Return what is taken where nothing is given."""
        words = [] if self.default is None else [self._in_words(self.default)]
        words += [f"{case}: {self._in_words(value)}" for case, value in self.usual_for.items()]
        return "; ".join(words + ([self.otherwise] if self.otherwise else []))

    def _in_words(self, value: Any) -> str:
        shown = f"{value:g}" if isinstance(value, int | float) else str(value)
        return f"{shown} {self.unit}" if self.unit else shown

    def check(self, value: Any, *, where: str) -> Any:
        """Return the value in its own type, or raise a ScenarioError saying what is right."""
        if self.kind in {"number", "integer"}:
            return self._check_number(value, where)
        if self.kind == "date":
            if isinstance(value, str):  # as JSON and a notebook write it
                with contextlib.suppress(ValueError):
                    value = dt.date.fromisoformat(value)
            if isinstance(value, dt.datetime) or not isinstance(value, dt.date):
                raise ScenarioError(
                    f"{_said(where, value)}: a date is needed, written like 2026-12-01"
                )
            if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
                raise ScenarioError(
                    f"{where} = {value} is outside the years {_FIRST_YEAR} to {_LAST_YEAR}"
                )
            return value
        if not isinstance(value, str):
            raise ScenarioError(f"{_said(where, value)}: text in quotes is needed")
        if self.kind == "choice" and value not in self.choices:
            raise ScenarioError(f"{_said(where, value)}: use one of {', '.join(self.choices)}")
        if len(value) > _LONGEST_TEXT or any(letter in _CONTROLS for letter in value):
            raise ScenarioError(
                f"{where}: at most {_LONGEST_TEXT} characters on one line are allowed"
            )
        return value

    def _check_number(self, value: Any, where: str) -> float | int:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if number and self.low <= value <= self.high and abs(value) != math.inf:  # nan never is
            if self.kind == "number":
                return float(value)
            if isinstance(value, int):
                return value
        shown, unit = _said(where, value), f" {self.unit}" if self.unit else ""
        if not number:
            raise ScenarioError(f"{shown}: a number{' in' + unit if unit else ''} is needed")
        if self.kind == "integer" and not isinstance(value, int):
            raise ScenarioError(f"{shown}: a whole number is needed")
        if isinstance(value, float) and not math.isfinite(value):
            raise ScenarioError(f"{shown}: a finite number{' in' + unit if unit else ''} is needed")
        raise ScenarioError(
            f"{shown}{unit} is outside {self.low:g} to {self.high:g}{unit}; {self.meaning}"
        )

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
        words = self.default_in_words()
        default = f" Default: {words}." if words else ""
        return f"{self.meaning}{unit}.{default}"


@dataclass(frozen=True, kw_only=True)
class Table:
    """A TOML table: its fields, sub-tables and lists of tables."""

    name: str
    meaning: str
    fields: tuple[Parameter, ...] = ()
    tables: tuple["Table", ...] = ()
    repeated: bool = False
    optional: bool = False  # its presence alone means something: commented out in the example
    required: tuple[str, ...] = ()

    def figure(self, name: str) -> str:
        """Return the dotted name of a figure of this table that is worked out, never given."""
        return f"{self.name}.{name}"

    def check(self, value: Any, *, where: str) -> Any:
        """Return the checked table (or list of tables)."""
        if not self.repeated:
            return self._check_one(value, where)
        if not isinstance(value, list):
            raise ScenarioError(f"{where}: a list of tables is needed")
        if len(value) > _MOST_ENTRIES:
            raise ScenarioError(
                f"{where}: at most {_MOST_ENTRIES} entries are allowed, {len(value)} given"
            )
        return [self._check_one(item, f"{where}[{index + 1}]") for index, item in enumerate(value)]

    def _check_one(self, value: Any, where: str) -> dict[str, Any]:
        if not isinstance(value, Mapping):
            raise ScenarioError(f"{where}: a table is needed, got {_brief(value)}")
        checked, members = {}, self._members
        for key, entry in value.items():
            place = f"{where}.{key}" if where else key
            if key not in members:
                raise ScenarioError(f"{place[:100]}: unknown key; {nearest(key[:100], members)}")
            checked[key] = members[key].check(entry, where=place)
        for key in self.required:
            if key not in checked:
                raise ScenarioError(f"{where}: {key} is missing")
        return checked

    @cached_property
    def _members(self) -> "dict[str, Parameter | Table]":
        fields: dict[str, Parameter | Table] = {field.key: field for field in self.fields}
        return fields | {table.name: table for table in self.tables}

    def parameters(self) -> dict[str, Parameter]:
        """Return every parameter of this table and of those inside it, by dotted name."""
        found = {parameter.name: parameter for parameter in self.fields}
        for inner in self.tables:
            found.update(inner.parameters())
        return found

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
        listed = {"type": "array", "maxItems": _MOST_ENTRIES, "items": schema}
        return listed if self.repeated else schema


class Keys:
    """A table of keys, each an attribute; the docstring says what the table is about.

    ``class UNIT(Keys, name="unit")`` with ``sleep_a = number((0, 5, "A"), ...)`` makes
    ``UNIT.sleep_a`` the parameter "unit.sleep_a" and ``UNIT.TABLE`` what checks the table.
    """

    TABLE: ClassVar[Table]

    def __init_subclass__(cls, *, name: str, of: str = "", **more: Any) -> None:
        """Give every parameter its name, in the order of declaration; `of` is the outer table."""
        known = [pair for base in reversed(cls.__mro__) for pair in vars(base).items()]
        own = {key: each for key, each in known if isinstance(each, Parameter)}
        named = [replace(each, name=f"{of}.{name}.{key}".lstrip(".")) for key, each in own.items()]
        for parameter in named:
            setattr(cls, parameter.key, parameter)
        cls.TABLE = Table(
            name=name,
            meaning=" ".join((cls.__doc__ or "").split()).rstrip("."),
            fields=tuple(each for each in named if each.inside is None),
            tables=tuple(each.inside for each in named if each.inside is not None),
            **more,
        )


def number(limits: tuple[float, float, str], meaning: str, **more: Any) -> Parameter:
    """Return a parameter that is a number in a unit.

    Parameters
    ----------
    limits : (float, float, str)
        Least and greatest value accepted, and their unit.
    meaning : str
        In the words of a sentence's end.
    """
    low, high, unit = limits
    return Parameter(kind="number", unit=unit, low=low, high=high, meaning=meaning, **more)


def whole(limits: tuple[int, int, str], meaning: str, **more: Any) -> Parameter:
    """Return a parameter that is a whole number in a unit; see `number`."""
    return replace(number(limits, meaning, **more), kind="integer")


def usual(default: Any, source: str = PRACTICE) -> dict[str, Any]:
    """Return what a parameter says of its default; the fields are `Parameter`'s own."""
    return {"default": default, "source": source}


def text(meaning: str, **more: Any) -> Parameter:
    """Return a parameter that is a text on one line."""
    return Parameter(kind="text", meaning=meaning, **more)


def choice(choices: Iterable[str], meaning: str, **more: Any) -> Parameter:
    """Return a parameter that is one of a few words; a mapping says what a page calls each."""
    named = choices if isinstance(choices, Mapping) else {each: each for each in choices}
    return Parameter(kind="choice", choices=named, meaning=meaning, **more)


def date(meaning: str, **more: Any) -> Parameter:
    """Return a parameter that is a day."""
    return Parameter(kind="date", meaning=meaning, **more)


def table_of(keys: type[Keys], **more: Any) -> Parameter:
    """Return a parameter that is a table of further keys, or a list of such tables."""
    inside = keys.TABLE
    kind = "list" if inside.repeated else "table"
    return Parameter(kind=kind, meaning=inside.meaning, inside=inside, **more)
