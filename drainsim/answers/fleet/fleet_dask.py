"""The fleet's answer over the files of a list on a Dask cluster, for lists beyond one machine.

Needs the extra `drainsim[dask]`. The scheduler is Dask's; a partition runs the same
`answer_part` as one machine does, so the results are the same. Each partition is read once and
stays, packed to about a fiftieth, with the worker that read it; where a worker is lost, Dask
reads and answers its again.
"""

import datetime as dt
import importlib
import itertools
import pickle
import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from drainsim.answers.fleet.answer import (
    Asked,
    FleetAnswer,
    answer_from_parts,
    answer_part,
    asked_for,
    in_run_order,
)
from drainsim.answers.fleet.counts import AnsweredPart, FleetCounts
from drainsim.errors import DrainsimError, FleetError
from drainsim.files.fleet.cells.cell_kinds import Cell, is_empty
from drainsim.files.fleet.cells.choices import choices_of
from drainsim.files.fleet.table import RawTable
from drainsim.files.fleet.understanding import Understanding, understand
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, RowProblem, fleet_from_table


class _How(NamedTuple):
    """What reading a partition needs to know besides its rows."""

    settings: FleetSettings
    where: str
    chosen: dict[str, str]
    understood: Understanding | None = None


class FileParts(NamedTuple):
    """Files of one list: each is a partition, read by a worker.

    `read` gives the file's table as a DataFrame whose index holds the rows in the file. All files
    have the same headings in the same order.
    """

    files: tuple[Path, ...]
    read: Callable[[Path], Any]

    def to_delayed(self) -> list[Any]:
        """Return the partitions, packed, none of them read yet."""
        read = _dask().delayed(self._packed)
        return [read(file) for file in self.files]

    def _packed(self, file: Path) -> bytes:
        return zlib.compress(pickle.dumps(self.read(file)))


class _Written(NamedTuple):
    """What comes back of a partition whose results a worker has written."""

    vehicles: int
    rows_to_correct: int
    must_act: dict[str, int]
    counts: FleetCounts


def write_fleet_dask(
    parts: FileParts,
    settings: FleetSettings,
    *,
    write: Callable[[str, Fleet, FleetAnswer], None],
    risk: float = 0.05,
    dates: Sequence[dt.date] = (),
    call_out_price: float | None = None,
    chosen: Mapping[str, str] | None = None,
    where: str = "files",
) -> dict[str, Any]:
    """Let workers answer and write each file of a list; return the fleet's own figures.

    Parameters
    ----------
    parts : FileParts
        Every worker must find the files under the same names.
    settings, risk, dates, call_out_price
        As in `answers.fleet.answer.answer_fleet`; depot weather files must be found by every
        worker.
    write : callable
        Called by a worker with the file's name, its list and its answer; may be called again for
        a file whose worker was lost.
    chosen : mapping, optional
        Heading → canonical column decided by the user.
    where : str
        Name of the list, for messages.

    Returns
    -------
    dict
        As `FleetAnswer.as_dict` of the whole list, which is never in one process.

    Raises
    ------
    DrainsimError
        If Dask is not installed, headings differ between files, no column names the vehicles or
        the question cannot be served.
    """
    asked = asked_for(settings, risk=risk, dates=dates, call_out_price=call_out_price)
    dask = _dask()
    names = [file.name for file in parts.files]
    frames, how, twice = _planned(parts, _How(settings, where, dict(chosen or {})), names)
    work = dask.delayed(_write)
    done: Sequence[_Written] = dask.compute(
        *(
            work(frame, how, again, asked, write, name)
            for frame, again, name in zip(frames, twice, names, strict=True)
        )
    )
    figures = answer_from_parts(
        [([], [], part.counts) for part in done], (), settings, asked
    ).as_dict()
    figures["vehicles_answered"] = sum(part.vehicles for part in done)
    figures["rows_to_correct"] = sum(part.rows_to_correct for part in done)
    figures["must_act"] = {
        name: sum(part.must_act[name] for part in done) for name in figures["must_act"]
    }
    return figures


def _write(
    packed: bytes,
    how: _How,
    again: dict[str, str],
    asked: Asked,
    write: Callable[[str, Fleet, FleetAnswer], None],
    name: str,
) -> _Written:
    """Answer a partition and write its results."""
    fleet, part = _answer(packed, how, again, asked)
    answer = answer_from_parts([part], (), how.settings, asked)
    write(name, fleet, answer)
    found = answer.as_dict()
    return _Written(len(answer.vehicles), found["rows_to_correct"], answer.must_act, part[2])


def _dask() -> Any:
    try:
        return importlib.import_module("dask")  # only here: an extra
    except ImportError:
        raise DrainsimError("Dask is not installed; pip install 'drainsim[dask]'") from None


def _planned(
    parts: FileParts, how: _How, names: Sequence[str]
) -> tuple[Sequence[Any], _How, list[dict[str, str]]]:
    """Return partitions that are read, how to understand them, and each one's repeated vehicles."""
    dask = _dask()
    frames = dask.persist(*parts.to_delayed())
    looks = dask.compute(*map(dask.delayed(_look), frames))
    headings = _headings([names_of for names_of, _ in looks], names, how.where)
    how = how._replace(understood=_understood([cells for _, cells in looks], headings, how))
    ids = dask.compute(*(dask.delayed(_ids)(frame, how) for frame in frames))
    return frames, how, _second_rows(ids, names)


def _read(packed: bytes, how: _How) -> Fleet:
    """Return the vehicles of a partition."""
    frame = _frame(packed)
    rows: list[tuple[int, list[Cell]]] = [
        (number, cells)
        for number, cells in zip(map(int, frame.index), _cells(frame), strict=True)
        if not all(is_empty(cell) for cell in cells)
    ]
    table = _table(frame.columns, rows)
    return fleet_from_table(table, how.settings, where=how.where, understood=how.understood)


def _table(columns: Iterable[Any], rows: list[tuple[int, list[Cell]]]) -> RawTable:
    return RawTable(tuple(map(str, columns)), rows, "", "")


def _frame(packed: bytes) -> Any:
    return pickle.loads(zlib.decompress(packed))  # this run's own, never a file's


def _cells(frame: Any) -> list[list[Cell]]:
    plain = frame.astype(object).where(frame.notna(), None)
    return [
        [cell.to_pydatetime() if hasattr(cell, "to_pydatetime") else cell for cell in row]
        for row in plain.itertuples(index=False, name=None)
    ]


def _look(packed: bytes) -> tuple[tuple[str, ...], list[list[Cell]]]:
    """Return a partition's headings and the different cells of each of its columns."""
    frame = _frame(packed)
    rows = _cells(frame)
    columns = zip(*rows, strict=True) if rows else [() for _ in frame.columns]
    return tuple(map(str, frame.columns)), [list(dict.fromkeys(column)) for column in columns]


def _headings(each: Sequence[tuple[str, ...]], names: Sequence[str], where: str) -> tuple[str, ...]:
    """Return the headings all partitions share, refusing a file with others."""
    for name, headings in zip(names, each, strict=True):
        if headings == each[0]:
            continue
        pairs = list(itertools.zip_longest(headings, each[0]))
        number = next(n for n, (found, first) in enumerate(pairs) if found != first)
        found, first = ("missing" if one is None else repr(one) for one in pairs[number])
        raise FleetError(
            f"{where}: column {number + 1} is {found} in {name} and {first} in {names[0]}; all "
            "files of a list need the same headings in the same order"
        )
    return each[0]


def _understood(
    parts: Sequence[list[list[Cell]]], headings: Sequence[str], how: _How
) -> Understanding:
    """Return what the columns mean, from the different cells of all partitions."""
    columns = [
        list(dict.fromkeys(cell for part in parts for cell in part[place]))
        for place in range(len(headings))
    ]
    rows: list[tuple[int, list[Cell]]] = [
        (number, list(cells)) for number, cells in enumerate(itertools.zip_longest(*columns))
    ]
    try:
        return understand(
            _table(headings, rows), choices_of(how.settings.profile_folders), chosen=how.chosen
        )
    except FleetError as error:
        raise FleetError(f"{how.where}: {error}") from None


def _ids(packed: bytes, how: _How) -> list[tuple[str, int]]:
    """Return id and row of a partition's vehicles."""
    return [(vehicle.id, vehicle.row) for vehicle in _read(packed, how).vehicles]


def _second_rows(
    ids: Sequence[list[tuple[str, int]]], names: Sequence[str]
) -> list[dict[str, str]]:
    """Return, per partition, the ids that stand in an earlier one, with where they do first."""
    seen: dict[str, str] = {}
    found = []
    for number, part in enumerate(ids):
        found.append({id_: seen[id_] for id_, _ in part if id_ in seen})
        for id_, row in part:
            seen.setdefault(id_, f"row {row} of {names[number]}")
    return found


def _answer(
    packed: bytes, how: _How, again: dict[str, str], asked: Asked
) -> tuple[Fleet, AnsweredPart]:
    """Return the vehicles of a partition and their answers."""
    fleet = _read(packed, how)
    place = next(n for n, match in enumerate(fleet.matches) if match.column == "id")
    repeated = [
        RowProblem(
            row=vehicle.row,
            column=fleet.matches[place].heading,
            number=place,
            vehicle=vehicle.id,
            sentence=f"{vehicle.id!r} is already in {again[vehicle.id]}",
        )
        for vehicle in fleet.vehicles
        if vehicle.id in again
    ]
    fresh = in_run_order(vehicle for vehicle in fleet.vehicles if vehicle.id not in again)
    answers, problems, counts = answer_part(fresh, how.settings, asked)
    return fleet, (answers, [*fleet.problems, *repeated, *problems], counts)
