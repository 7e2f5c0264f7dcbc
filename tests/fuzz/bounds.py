"""Large and tricky files, one after the other: what each ends in and takes at its peak.

`python -m tests.fuzz.bounds` prints it as JSON. Linux only (/proc).
"""

import gc
import io
import json
import sys
import tempfile
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from drainsim.errors import DrainsimError, ScenarioError
from drainsim.files.circuits import read_circuits
from drainsim.files.current_log.reader import read_current_log
from drainsim.files.fleet.table import read_table
from drainsim.files.reading import read_text
from drainsim.files.readings.history import Readings
from drainsim.files.readings.reader import read_readings
from drainsim.files.weather import read_epw, read_hourly_csv
from drainsim.vehicle.documents.job_record import read_job_record
from drainsim.vehicle.documents.trips import read_trips
from drainsim.vehicle.keys.scenario import read_scenario
from tests.fuzz.readers import _SHEET, _workbook_parts

MILLION: Final = 1_000_000
_ENTITIES: Final = "".join(
    f'<!ENTITY e{n} "{f"&e{n - 1};" * 10 if n else "lol"}">' for n in range(12)
)


def _book(compression: int = zipfile.ZIP_DEFLATED, **parts: bytes) -> bytes:
    """Return a workbook with some parts replaced or added."""
    names = {"sheet": _SHEET, "styles": "xl/styles.xml", "book": "xl/workbook.xml"}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", compression, compresslevel=1) as archive:
        for name, content in {
            **_workbook_parts(),
            **{names.get(key, key): content for key, content in parts.items()},
        }.items():
            archive.writestr(name, content)
    return out.getvalue()


def _sheet(rows: str) -> bytes:
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    heading = '<row r="1"><c r="A1" t="str"><v>id</v></c><c r="B1" t="str"><v>ah</v></c></row>'
    first = '<row r="2"><c r="A2" t="str"><v>a</v></c><c r="B2"><v>60</v></c></row>'
    return (
        f'<worksheet xmlns="{main}"><sheetData>{heading}{first}{rows}</sheetData></worksheet>'
    ).encode()


def _lying(content: bytes) -> bytes:
    """Return a workbook whose directory says that its sheet is small."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(_SHEET).file_size
    return content.replace(size.to_bytes(4, "little"), (1000).to_bytes(4, "little"))


def _shuffled(name: str) -> bytes:
    """Return a workbook whose main part hides among the sheets."""
    kinds = _workbook_parts()["[Content_Types].xml"].replace(b"/xl/workbook.xml", name.encode())
    return _book(**{"[Content_Types].xml": kinds, name[1:]: b"<a>" + b"<b/>" * 20 * MILLION})


def _readings(path: Path) -> Readings:
    return read_readings([path], zone="Europe/Berlin")


# name: (how the file is made, who reads it). Sizes stay under each reader's limit of bytes, or
# that limit would be all there is to see.
CASES: Final[dict[str, tuple[Callable[[], bytes], Callable[[Path], object]]]] = {
    "fleet: 10 million empty rows": (lambda: b"id,ah\na,60\n" + b"\n" * 10 * MILLION, read_table),
    "fleet: 10 million rows of commas": (
        lambda: b"id,ah\na,60\n" + b",,,\n" * 10 * MILLION,
        read_table,
    ),
    "fleet: a line of 50 MB": (lambda: b"a," * 24_900_000, read_table),
    "fleet: a quoted cell of 49 MB": (lambda: b'id,ah\n"' + b"a\n" * 24 * MILLION, read_table),
    "fleet: 16 million filled rows": (lambda: b"id\n" + b"a\n" * 16 * MILLION, read_table),
    "fleet: 16 million rows, a stray quote": (
        lambda: b'id,ah\na"b"c,"1"2\n' + b"a\n" * 16 * MILLION,
        read_table,
    ),
    "fleet: 200 columns of cells": (lambda: (b"id" + b",b" * 199 + b"\n") * 110_000, read_table),
    "fleet: UTF-16, 10 million empty rows": (
        lambda: ("id,ah\na,60\n" + "\n" * 10 * MILLION).encode("utf-16"),
        read_table,
    ),
    "sheet: formatted to its end": (
        lambda: _book(sheet=_sheet("".join(f'<row r="{n}"/>' for n in range(3, 1_048_577)))),
        read_table,
    ),
    "sheet: a row beyond any sheet": (
        lambda: _book(sheet=_sheet('<row r="999999999"><c r="A999999999"><f>1</f></c></row>')),
        read_table,
    ),
    "sheet: cells in the last column": (
        lambda: _book(
            sheet=_sheet(
                "".join(f'<row r="{n}"><c r="XFD{n}"><v>1</v></c></row>' for n in range(3, 60_000))
            )
        ),
        read_table,
    ),
    "sheet: 3 million cells": (
        lambda: _book(
            zipfile.ZIP_STORED, sheet=_sheet((f"<row>{'<c><v>1</v></c>' * 100}</row>") * 30_000)
        ),
        read_table,
    ),
    "zip: a sheet of 120 MB of blanks": (
        lambda: _book(sheet=_sheet(" " * 120 * MILLION)),
        read_table,
    ),
    "zip: ninety parts of 9 MB": (
        lambda: _book(**{f"xl/media/{n}": b" " * 9 * MILLION for n in range(90)}),
        read_table,
    ),
    "zip: styles of 60 MB": (
        lambda: _book(zipfile.ZIP_STORED, styles=b"<a>" + b"<b/>" * 11 * MILLION),
        read_table,
    ),
    "zip: the main part hides among the sheets": (
        lambda: _shuffled("/xl/worksheets/book.xml"),
        read_table,
    ),
    "zip: the size of a part is a lie": (
        lambda: _lying(_book(sheet=_sheet(" " * 20 * MILLION))),
        read_table,
    ),
    "xml: entities of entities": (
        lambda: _book(sheet=f"<!DOCTYPE a [{_ENTITIES}]><a>&e11;</a>".encode()),
        read_table,
    ),
    "log: 10 million empty rows": (
        lambda: b"time_s,current_a\n" + b"\n" * 10 * MILLION,
        read_current_log,
    ),
    "log: 10 million empty rows below readings": (
        lambda: (
            b"time_s,current_a\n"
            + b"".join(b"%d,0.03\n" % n for n in range(50))
            + b"\n" * 10 * MILLION
        ),
        read_current_log,
    ),
    "log: a line of 50 MB": (
        lambda: b"time_s,current_a\n" + b"1," * 25 * MILLION,
        read_current_log,
    ),
    "readings: 10 million empty rows": (
        lambda: b"id,time,voltage\n" + b"\n" * 10 * MILLION,
        _readings,
    ),
    "readings: 3 million odd rows": (
        lambda: b"id,time,voltage\n" + b"a,b,c,d,e\n" + b"a,b,c\n" * 3 * MILLION,
        _readings,
    ),
    "readings: a line of 50 MB": (lambda: b"time,voltage\n" + b"1," * 25 * MILLION, _readings),
    "readings: 900,000 bytes of headings": (
        lambda: b"time" + b",a" * 450_000 + b"\n1\n",
        _readings,
    ),
    "readings: a quoted cell of 49 MB": (
        lambda: b'id,time,v\n"' + b"a\n" * 24 * MILLION,
        _readings,
    ),
    "readings: a sheet of 120 MB of blanks": (
        lambda: _book(sheet=_sheet(" " * 120 * MILLION)),
        _readings,
    ),
    "trips: 10 million empty rows": (lambda: b"id,start,end\n" + b"\n" * 10 * MILLION, read_trips),
    "trips: a line of 19 MB": (lambda: b"id,start,end\n" + b"a," * 9 * MILLION, read_trips),
    "hourly: 10 million empty rows": (
        lambda: b"temperature_c\n" + b"\n" * 10 * MILLION,
        read_hourly_csv,
    ),
    "hourly: a line of 19 MB": (lambda: b"temperature_c\n" + b"1," * 9 * MILLION, read_hourly_csv),
    "epw: 10 million empty rows": (lambda: b"LOCATION,\n" + b"\n" * 10 * MILLION, read_epw),
    "circuits: 190,000 empty rows": (lambda: b"name,class\n" + b"\n" * 189_000, read_circuits),
    "job: 400,000 brackets": (lambda: b"[" * 400_000, read_job_record),
    "job: 80,000 braces": (lambda: b'{"a":' * 80_000, read_job_record),
    "scenario: a million brackets": (lambda: b"a = " + b"[" * 999_000, read_scenario),
    "scenario: a million braces": (lambda: b"a = " + b"{a=" * 330_000, read_scenario),
    "scenario: a key of 300,000 parts": (
        lambda: b".".join([b"a"] * 300_000) + b" = 1",
        read_scenario,
    ),
    "scenario: 90,000 tables": (
        lambda: b"".join(b"[a%d]\n" % n for n in range(90_000)),
        read_scenario,
    ),
    "scenario: a text of 1 MB": (
        lambda: b'[site]\nhourly_csv = "' + b"a" * 900_000 + b'"',
        read_scenario,
    ),
}


def special_files(folder: Path) -> dict[str, Path]:
    """Return files that never end or never begin."""
    import os

    os.mkfifo(folder / "pipe")
    (folder / "zero").symlink_to("/dev/zero")
    (folder / "round").symlink_to("round")
    claims = Path("/proc/self/mem")  # a regular file of no size that is all of a memory
    return {
        "pipe": folder / "pipe",
        "device": Path("/dev/zero"),
        "link to a device": folder / "zero",
        "link in a circle": folder / "round",
        "folder": folder,
        "memory": claims,
    }


def _memory_mb(key: str) -> float:
    text = Path("/proc/self/status").read_text("ascii")
    line = next(line for line in text.splitlines() if line.startswith(key))
    return int(line.split()[1]) / 1e3


def _tried(read: Callable[[], object]) -> tuple[str, float]:
    """Return what reading ended in and how much memory it took at its peak. [MB]."""
    gc.collect()
    Path("/proc/self/clear_refs").write_text("5", "ascii")  # peak := now
    before = _memory_mb("VmRSS")
    try:
        read()
    except DrainsimError as error:
        said = str(error)
    else:
        said = "answer"
    return said, round(_memory_mb("VmHWM") - before, 1)


def main(words: Sequence[str]) -> None:
    """Try all cases, or those whose names hold one of some words."""
    found: dict[str, tuple[str, float]] = {}
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        path = folder / "file"
        for name, (make, read) in CASES.items():
            if words and not any(word in name for word in words):
                continue
            path.write_bytes(make())
            found[name] = _tried(lambda read=read: read(path))
        path.unlink()
        for name, special in special_files(folder).items():
            for reader in (read_table, read_current_log, read_scenario, read_hourly_csv):
                found[f"{name}, {reader.__name__}"] = _tried(lambda r=reader, p=special: r(p))
            found[f"{name}, text"] = _tried(
                lambda p=special: read_text(p, error=ScenarioError, max_bytes=1000)
            )
    print(json.dumps(found))


if __name__ == "__main__":
    main(sys.argv[1:])
