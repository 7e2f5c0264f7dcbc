"""Candidate circuits for feeding an added unit: one row each, as CSV or dictionaries."""

import csv
import io
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, Final

from drainsim.errors import RecordError
from drainsim.files.reading import decoded_or_western, nearest, read_bytes
from drainsim.physics.wiring import FuseKind, awg_area_mm2

MAX_CIRCUITS_BYTES: Final = 200_000
MOST_CIRCUITS: Final = 100
CLASSES: Final = ("battery_direct", "always_hot", "retained", "accessory", "ignition", "safety")
HEADING: Final = (
    "name", "class", "fuse_a", "fuse_type", "wire_mm2", "length_m", "load_a", "off_v",
    "after_sleep_v", "on_v", "cranking_v", "loaded_v", "loaded_at_a", "wakes_module_a",
)  # fmt: skip
_EXTRA: Final = ("wire_awg", "slot", "slot_max_a", "safety_circuit")
YES, NO = "yes", "no"
_FUSE_TYPES: Final[dict[str, FuseKind]] = {"": "medium", "medium": "medium", "mini": "mini"}
_LIMITS: Final = {
    "fuse_a": (0.1, 500.0, "A"),
    "wire_mm2": (0.05, 120.0, "mm²"),
    "length_m": (0.0, 50.0, "m"),
    "load_a": (0.0, 500.0, "A"),
    "off_v": (-1.0, 60.0, "V"),
    "after_sleep_v": (-1.0, 60.0, "V"),
    "on_v": (-1.0, 60.0, "V"),
    "cranking_v": (-1.0, 60.0, "V"),
    "loaded_v": (-1.0, 60.0, "V"),
    "loaded_at_a": (0.001, 100.0, "A"),
    "wakes_module_a": (0.0, 50.0, "A"),
    "slot_max_a": (0.1, 500.0, "A"),
}
VOLTAGES: Final = ("off_v", "after_sleep_v", "on_v", "cranking_v", "loaded_v")


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One candidate; None where nothing was read or known.

    `wire_mm2` and `length_m` are of the run from this point to the unit, one way; `loaded_v`
    was read with `loaded_at_a` drawn; `wakes_module_a` is the draw of a control unit that
    using the circuit keeps awake.
    """

    name: str
    kind: str
    fuse_a: float | None = None
    fuse_type: FuseKind = "medium"
    wire_mm2: float | None = None
    length_m: float | None = None
    load_a: float | None = None
    off_v: float | None = None
    after_sleep_v: float | None = None
    on_v: float | None = None
    cranking_v: float | None = None
    loaded_v: float | None = None
    loaded_at_a: float | None = None
    wakes_module_a: float | None = None
    slot: str = ""
    slot_max_a: float | None = None
    safety_circuit: str = ""  # yes or no where the user has looked it up

    def as_dict(self) -> dict[str, Any]:
        """Return the row under its CSV headings, empty cells left out."""
        row = {field.name: getattr(self, field.name) for field in fields(self)}
        row["class"] = row.pop("kind")
        return {key: value for key, value in row.items() if value not in (None, "")}


def circuit_from_row(row: Mapping[str, Any], *, where: str) -> Circuit:
    """Return the circuit in one row of named cells; numbers may be text.

    Raises
    ------
    RecordError
        Naming the column, what is wrong and what would be right.
    """
    known = (*HEADING, *_EXTRA)
    for key in row:
        if key not in known:
            raise RecordError(f"{where}: unknown column {str(key)[:60]!r}; {nearest(key, known)}")
    name = _text(row.get("name"), where, "name")
    if not name:
        raise RecordError(f"{where}: column name: a name for the circuit is needed")
    kind = re.sub(r"[\s-]+", "_", _text(row.get("class"), where, "class").lower())
    if kind not in CLASSES:
        raise RecordError(
            f"{where}: column class: {kind[:40]!r} is unknown; use one of {', '.join(CLASSES)}"
        )
    fuse_type = _text(row.get("fuse_type"), where, "fuse_type").lower()
    if fuse_type not in _FUSE_TYPES:
        raise RecordError(
            f"{where}: column fuse_type: {fuse_type[:40]!r} is unknown; use medium or mini"
        )
    safety = _text(row.get("safety_circuit"), where, "safety_circuit").lower()
    if safety not in {"", YES, NO}:
        raise RecordError(
            f"{where}: column safety_circuit: {safety[:40]!r} is unknown; use yes, no or leave it "
            "empty"
        )
    values = {key: _cell(row.get(key), where, key) for key in _LIMITS}
    awg = row.get("wire_awg")
    if awg not in (None, ""):
        if values["wire_mm2"] is not None:
            raise RecordError(f"{where}: columns wire_mm2 and wire_awg: give one of them")
        values["wire_mm2"] = round(_awg_mm2(awg, where), 4)
    if (values["loaded_v"] is None) != (values["loaded_at_a"] is None):
        lacking = "loaded_at_a" if values["loaded_at_a"] is None else "loaded_v"
        raise RecordError(
            f"{where}: column {lacking} is empty: loaded_v needs the current it was read at"
        )
    return Circuit(
        name=name,
        kind=kind,
        fuse_type=_FUSE_TYPES[fuse_type],
        slot=_text(row.get("slot"), where, "slot"),
        safety_circuit=safety,
        **{key: value for key, value in values.items() if key != "slot_max_a"},
        slot_max_a=values["slot_max_a"],
    )


def circuits_from_rows(rows: Sequence[Mapping[str, Any]], *, where: str) -> tuple[Circuit, ...]:
    """Return circuits from rows, refusing two of one name.

    Raises
    ------
    RecordError
        Naming the circuit and the column, what is wrong and what would be right.
    """
    if not rows:
        raise RecordError(f"{where}: there are no circuits; give at least one row")
    if len(rows) > MOST_CIRCUITS:
        raise RecordError(f"{where}: {len(rows)} circuits; at most {MOST_CIRCUITS} are read")
    return _circuits(rows, [f"{where}: circuit {n}" for n in range(1, len(rows) + 1)])


def _circuits(rows: Sequence[Mapping[str, Any]], places: Sequence[str]) -> tuple[Circuit, ...]:
    """Return the circuit of every row; `places` name the rows in messages."""
    found: dict[str, Circuit] = {}
    for row, place in zip(rows, places, strict=True):
        circuit = circuit_from_row(row, where=place)
        if circuit.name.lower() in found:
            raise RecordError(
                f"{place}, column name: {circuit.name!r} is used twice; names must differ"
            )
        found[circuit.name.lower()] = circuit
    return tuple(found.values())


def read_circuits(path: Path) -> tuple[Circuit, ...]:
    """Return the circuits in a CSV file."""
    raw = read_bytes(path, error=RecordError, max_bytes=MAX_CIRCUITS_BYTES)
    return circuits_from_bytes(raw, where=str(path))


def circuits_from_bytes(raw: bytes, *, where: str) -> tuple[Circuit, ...]:
    """Return the circuits in a CSV file's bytes.

    Raises
    ------
    RecordError
        Naming row and column, what is wrong and what would be right.
    """
    lines, delimiter = _csv_lines(raw, where)
    start = next((i for i, row in enumerate(lines) if any(cell.strip() for cell in row)), None)
    if start is None:
        raise RecordError(f"{where}: the file is empty; the heading is {','.join(HEADING)}")
    heading = _heading([cell.strip().lower() for cell in lines[start]], where)
    rows, places = [], []
    for number, cells in enumerate(lines[start + 1 :], start=start + 2):
        if not any(cell.strip() for cell in cells):
            continue
        if any(cell.strip() for cell in cells[len(heading) :]):
            raise RecordError(
                f"{where}: row {number} has {len(cells)} fields, the heading {len(heading)}"
            )
        row = {
            name: cell.strip().replace(",", ".") if delimiter == ";" and name in _LIMITS else cell
            for name, cell in zip(heading, cells, strict=False)
            if name
        }
        rows.append(row)
        places.append(f"{where}: row {number}")
        if len(rows) > MOST_CIRCUITS:
            raise RecordError(f"{where}: more than {MOST_CIRCUITS} circuits; split the table")
    if not rows:
        raise RecordError(
            f"{where}: there are no circuits under the heading; give at least one row"
        )
    return _circuits(rows, places)


def _csv_lines(raw: bytes, where: str) -> tuple[list[list[str]], str]:
    """Return the cells of every line, and what stands between them."""
    text, _ = decoded_or_western(raw, where=where, error=RecordError)
    if "\x00" in text:
        raise RecordError(f"{where}: not a text file; save the table as CSV")
    first_line = next((line for line in text.splitlines() if line.strip()), "")
    delimiter = max(";\t,", key=first_line.count)
    try:
        return list(
            csv.reader(io.StringIO(text, newline=None), delimiter=delimiter, strict=True)
        ), delimiter
    except csv.Error as error:
        raise RecordError(f"{where}: not a readable CSV file: {error}") from None


def _heading(names: list[str], where: str) -> list[str]:
    """Return the names of the columns, or refuse a heading that lacks or doubles one."""
    for lacking in ("name", "class"):
        if lacking not in names:
            raise RecordError(
                f"{where}: no column {lacking} in the heading; it is {','.join(HEADING)}"
            )
    doubled = next((name for name in names if names.count(name) > 1 and name), None)
    if doubled:
        raise RecordError(f"{where}: column {doubled!r} stands twice in the heading")
    return names


def circuits_csv(circuits: Sequence[Circuit]) -> str:
    """Return circuits as CSV text that reads back to the same circuits."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    heading = (*HEADING, "slot", "slot_max_a", "safety_circuit")
    writer.writerow(heading)
    for circuit in circuits:
        row = circuit.as_dict()
        writer.writerow([row.get(key, "") for key in heading])
    return out.getvalue()


def _text(value: Any, where: str, key: str) -> str:
    text = "" if value is None else str(value).strip()
    if len(text) > 80 or any(ord(letter) < 32 or ord(letter) == 127 for letter in text):
        raise RecordError(f"{where}: column {key}: at most 80 characters on one line are allowed")
    return text


def _cell(value: Any, where: str, key: str) -> float | None:
    """Return a number, or None for an empty cell."""
    if value is None or (isinstance(value, str) and not value.strip()):
        return None
    low, high, unit = _LIMITS[key]
    try:
        number = float(value) if not isinstance(value, bool) else math.nan
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise RecordError(
            f"{where}: column {key}: {str(value)[:40]!r} is not a number in {unit}; leave it empty "
            "if it was not read"
        )
    if not low <= number <= high:
        raise RecordError(
            f"{where}: column {key}: {number:g} {unit} is outside {low:g} to {high:g} {unit}"
        )
    return number


def _awg_mm2(value: Any, where: str) -> float:
    """Return the section of an American gauge written as 18, 18 AWG or 2/0."""
    text = re.sub(r"\s*awg\s*", "", str(value).strip(), flags=re.IGNORECASE)
    found = re.fullmatch(r"(\d{1,2})(?:/0)?", text)
    if not found:
        raise RecordError(
            f"{where}: column wire_awg: {str(value)[:40]!r} is no gauge; write it like 18 or 2/0"
        )
    number = int(found.group(1))
    gauge = 1 - number if text.endswith("/0") else number
    if not -3 <= gauge <= 40:
        raise RecordError(f"{where}: column wire_awg: {text} is outside 4/0 to 40")
    return float(awg_area_mm2(gauge))
