"""The record of one installation: what was read, connected, checked and acknowledged."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from drainsim.errors import RecordError, ScenarioError
from drainsim.files.circuits import Circuit, circuit_from_row
from drainsim.files.formats import KEY, NEWEST, newest_of
from drainsim.files.reading import nearest, read_text
from drainsim.vehicle.batteries.battery_keys import BATTERY
from drainsim.vehicle.documents.job_tables import JOB, READINGS, TABLES
from drainsim.vehicle.keys.parameter import Keys, Parameter, Table, text
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_dict

MAX_RECORD_BYTES: Final = 500_000
_LARGEST: Final = 1e15  # no figure of a prediction; whole numbers can have thousands of digits
_KEYS: Final = (*TABLES, "power", "sense", "scenario", "predicted", "retests")
_READ_AGAIN: Final = (
    "meter", "before", "after", "connection", "sense_check", "constant_check", "first_start",
    "mounting", "power", "sense",
)  # fmt: skip
MOST_RETESTS: Final = 20


class RETEST(Keys, name="retest"):
    """What was done since the test before."""

    date = text("day of the retest")
    done = text("what was changed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Retest:
    """What was read again after a change; what it does not name stays as it was."""

    date: str
    done: str
    tables: dict[str, Any]
    power: Circuit | None
    sense: Circuit | None

    def as_dict(self) -> dict[str, Any]:
        """Return the retest as it is written to a file."""
        document: dict[str, Any] = {"date": self.date, "done": self.done, **self.tables}
        for key, circuit in (("power", self.power), ("sense", self.sense)):
            if circuit is not None:
                document[key] = circuit.as_dict()
        return {key: value for key, value in document.items() if value != ""}


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRecord:
    """A checked record; `folder` is where its logs are looked for, None forbids files."""

    tables: dict[str, Any]
    power: Circuit | None
    sense: Circuit | None
    scenario: Scenario | None
    predicted: dict[str, Any]
    where: str
    folder: Path | None
    retests: tuple[Retest, ...] = ()  # in the order they were made

    def get(self, asked: Parameter) -> Any:
        """Return a value, or None where none was given."""
        return self.tables.get(asked.table, {}).get(asked.key)

    def number(self, asked: Parameter) -> float | None:
        """Return a number, or None where none was given."""
        value = self.get(asked)
        return None if value is None else float(value)

    def tests(self) -> tuple["JobRecord", ...]:
        """Return the record at its first test and after each retest, the latest last."""
        found = [replace(self, retests=())]
        for retest in self.retests:
            last = found[-1]
            tables = {**last.tables, **retest.tables}
            power, sense = retest.power or last.power, retest.sense or last.sense
            found.append(replace(last, tables=tables, power=power, sense=sense))
        return tuple(found)

    def with_retest(self, document: Mapping[str, Any], *, where: str) -> "JobRecord":
        """Return the record with one more retest; the tests before stay in it."""
        if len(self.retests) >= MOST_RETESTS:
            raise RecordError(f"{where}: at most {MOST_RETESTS} retests are kept in a record")
        return replace(self, retests=(*self.retests, _retest(document, where)))

    def with_reading(self, name: str, values: Mapping[str, float]) -> "JobRecord":
        """Return the record with the values of a log as its latest reading."""
        if self.retests:
            last = self.retests[-1]
            changed = replace(last, tables={**last.tables, name: dict(values)})
            return replace(self, retests=(*self.retests[:-1], changed))
        return replace(self, tables={**self.tables, name: dict(values)})

    @property
    def system_v(self) -> int:
        """Return the system voltage: as said, else its scenario's. [V]."""
        pair = self.scenario is not None and self.scenario.get(BATTERY.system) == "24V"
        return int(self.get(JOB.system_v) or (24 if pair else 12))

    def as_dict(self) -> dict[str, Any]:
        """Return the record as it is written to a file."""
        document: dict[str, Any] = {KEY: NEWEST["job record"], **self.tables}
        for name, circuit in (("power", self.power), ("sense", self.sense)):
            if circuit:
                document[name] = circuit.as_dict()
        if self.scenario:
            document["scenario"] = _plain(self.scenario.tables)
        if self.predicted:
            document["predicted"] = self.predicted
        if self.retests:
            document["retests"] = [retest.as_dict() for retest in self.retests]
        return document

    def to_json(self) -> str:
        """Return the record as JSON text."""
        return json.dumps(self.as_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def read_job_record(path: Path) -> JobRecord:
    """Return the record in a JSON file.

    Raises
    ------
    RecordError
        Naming the file, the key, what is wrong and what would be right.
    """
    content = read_text(path, error=RecordError, max_bytes=MAX_RECORD_BYTES)
    document = parse_json(content, where=str(path))
    return job_record_from_dict(document, where=str(path), folder=path.resolve().parent)


def parse_json(text: str, *, where: str) -> dict[str, Any]:
    """Return a JSON object, or refuse in a sentence."""

    def refuse(word: str) -> float:
        raise RecordError(f"{where}: {word} is not a number; leave the key out instead")

    def once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in pairs:
            if key in found:
                raise RecordError(f"{where}: {key[:60]!r} stands twice; keep one of them")
            found[key] = value
        return found

    try:
        text.encode()
        document = json.loads(text, parse_constant=refuse, object_pairs_hook=once)
        json.dumps(document, ensure_ascii=False).encode()
    except UnicodeEncodeError:  # half of a pair, which no file can hold
        raise RecordError(f"{where}: not valid JSON: a text holds half of a character") from None
    except RecursionError:
        raise RecordError(f"{where}: not valid JSON: brackets are nested too deeply") from None
    except ValueError as error:
        if isinstance(error, RecordError):
            raise
        raise RecordError(f"{where}: not valid JSON: {error}") from None
    if not isinstance(document, dict):
        raise RecordError(f"{where}: a JSON object in braces is needed")
    return document


def refuse_unknown(document: Mapping[str, Any], known: Iterable[str], where: str) -> None:
    """Refuse a key that a document of this kind does not have."""
    for key in document:
        if key not in known:
            raise RecordError(f"{where}: {key[:60]!r}: unknown key; {nearest(key[:60], known)}")


def checked(table: Table, value: Any, where: str) -> dict[str, Any]:
    """Return a document's table, checked, or refuse it by the document's name."""
    try:
        found: dict[str, Any] = table.check(value, where=table.name)
    except ScenarioError as error:
        raise RecordError(f"{where}: {error}") from None
    return found


def job_record_from_dict(
    document: Mapping[str, Any], *, where: str, folder: Path | None = None
) -> JobRecord:
    """Return a checked record."""
    document = newest_of(document, "job record", where=where, error=RecordError)
    refuse_unknown(document, _KEYS, where)
    tables = _tables(document, where)
    if tables.get("job", {}).get("system_v") not in (None, 12.0, 24.0):
        raise RecordError(f"{where}: job.system_v: use 12 or 24 V")
    scenario = None
    if "scenario" in document:
        entry = document["scenario"]
        if not isinstance(entry, Mapping):
            raise RecordError(f"{where}: scenario: a table is needed")
        scenario = scenario_from_dict(entry, where=f"{where}: scenario", folder=folder)
    predicted = document.get("predicted", {})
    if not isinstance(predicted, dict):
        raise RecordError(f"{where}: predicted: a table is needed")
    return JobRecord(
        tables=tables,
        power=_circuit(document, "power", where),
        sense=_circuit(document, "sense", where),
        scenario=scenario,
        predicted=_numbers_only(predicted, where),
        where=where,
        folder=folder,
        retests=_retests(document.get("retests", []), where),
    )


def _tables(document: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Return the plain tables of a document, checked."""
    tables = {
        name: checked(table, document[name], where)
        for name, table in TABLES.items()
        if name in document
    }
    for name in READINGS:
        entry = tables.get(name, {})
        if "log" in entry and ("settled_a" in entry or "mean_a" in entry):
            raise RecordError(f"{where}: {name} has both log and values; keep one of them")
    return tables


def _retests(entries: Any, where: str) -> tuple[Retest, ...]:
    if not isinstance(entries, list) or len(entries) > MOST_RETESTS:
        raise RecordError(f"{where}: retests: a list of at most {MOST_RETESTS} is needed")
    return tuple(_retest(one, f"{where}: retest {n}") for n, one in enumerate(entries, start=1))


def _retest(document: Any, where: str) -> Retest:
    """Return a checked retest; its tables are those of the record."""
    if not isinstance(document, Mapping):
        raise RecordError(f"{where}: a table of what was read again is needed")
    refuse_unknown(document, ("date", "done", *_READ_AGAIN), where)
    if not any(key in document for key in _READ_AGAIN):
        raise RecordError(f"{where}: nothing was read again; {', '.join(_READ_AGAIN)} can be")
    plain = {key: value for key, value in document.items() if key in {"date", "done"}}
    said = checked(RETEST.TABLE, plain, where)
    return Retest(
        date=str(said.get("date", "")),
        done=str(said.get("done", "")),
        tables=_tables(document, where),
        power=_circuit(document, "power", where),
        sense=_circuit(document, "sense", where),
    )


def read_retest(path: Path) -> dict[str, Any]:
    """Return the retest in a JSON file, to be added with `JobRecord.with_retest`."""
    content = read_text(path, error=RecordError, max_bytes=MAX_RECORD_BYTES)
    return parse_json(content, where=str(path))


def _circuit(document: Mapping[str, Any], key: str, where: str) -> Circuit | None:
    if key not in document:
        return None
    if not isinstance(document[key], Mapping):
        raise RecordError(f"{where}: {key}: a table of one circuit is needed")
    return circuit_from_row(document[key], where=f"{where}: {key}")


def _numbers_only(predicted: Mapping[str, Any], where: str) -> dict[str, Any]:
    """Keep the prediction of an earlier run: numbers and short texts, nothing nested."""
    for key, value in predicted.items():
        good = value is None or (isinstance(value, str) and len(value) <= 200)
        good |= isinstance(value, int | float) and abs(value) < _LARGEST
        if not good or len(key) > 60:
            raise RecordError(f"{where}: predicted.{key[:60]}: a number or a short text is needed")
    return dict(predicted)


def _plain(value: Any) -> Any:
    """Return scenario tables as JSON holds them."""
    if isinstance(value, dict):
        return {key: _plain(entry) for key, entry in value.items()}
    if isinstance(value, list):
        return [_plain(entry) for entry in value]
    return value if isinstance(value, str | int | float) else str(value)
