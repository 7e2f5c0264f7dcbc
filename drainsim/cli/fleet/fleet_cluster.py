"""`drainsim fleet --cluster`: a list of many files, answered and written on a Dask cluster.

A partition is a file; only whole-number sums come back, so that joint risk by depot is the same
to the bit as on one machine.
"""

import argparse
import importlib
import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, Final

import pandas as pd

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.fleet.fleet_dask import FileParts, write_fleet_dask
from drainsim.cli.options import ANSWERED, SAYS_NO, SET_ASIDE
from drainsim.errors import DrainsimError
from drainsim.files.fleet.table import read_table
from drainsim.files.writing import whole_folder, write_text
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings

_ENDINGS: Final = (".csv", ".parquet")
_CONNECT_S: Final = 15


def run_on_cluster(
    options: argparse.Namespace, settings: FleetSettings, write_results: Callable[..., None]
) -> int:
    """Answer a folder of CSV or Parquet files, each file a partition of one list.

    Raises
    ------
    DrainsimError
        If the cluster cannot be reached, there is nothing to read or nowhere to write.
    """
    if options.out is None:
        raise DrainsimError("--cluster needs --out DIR, a folder that every worker can write to")
    if options.done or options.settings or options.chargers or options.people or options.columns:
        raise DrainsimError(
            "--cluster goes with none of --done, --set, --chargers, --people and --columns: they "
            "need the whole list in one place; --column goes with it"
        )
    files = _files(options.fleet.resolve())
    write = partial(
        _write_part,
        options.out.resolve(),
        write_results,
        None if options.no_actions else options.until,
        options.risk,
    )
    with client_of(options.cluster):
        figures = write_fleet_dask(
            FileParts(files, read_frame),
            settings,
            write=write,
            risk=options.risk,
            dates=options.on,
            call_out_price=options.call_out_price,
            chosen=dict(options.column),
            where=str(options.fleet),
        )
    text = json.dumps(figures, indent=2)
    write_text(options.out / "summary.json", text + "\n")
    acting = figures["must_act"]
    print(
        text
        if options.json
        else f"{figures['vehicles_answered']} vehicles answered from {len(files)} files, "
        f"{acting['today']} to act on today, {acting['within_30_days']} within 30 days, "
        f"{figures['rows_to_correct']} rows to correct; written to {options.out}"
    )
    if options.check and acting["today"]:
        return SAYS_NO
    return SET_ASIDE if figures["rows_to_correct"] else ANSWERED


def read_frame(file: Path) -> Any:
    """Return a file of a list as a DataFrame whose index holds the rows in the file.

    Raises
    ------
    DrainsimError
        If it cannot be read.
    """
    if file.suffix.lower() == ".parquet":
        try:
            frame = pd.read_parquet(file)
        except (ImportError, OSError, ValueError) as error:
            raise DrainsimError(f"{file}: cannot be read as Parquet: {error}") from None
        return frame.set_axis(range(2, len(frame) + 2))
    table = read_table(file)
    width = len(table.headings)
    rows = [[*cells[:width], *[None] * (width - len(cells))] for _, cells in table.rows]
    index = [number for number, _ in table.rows]
    return pd.DataFrame(rows, columns=list(table.headings), index=index, dtype=object)


def _files(place: Path) -> tuple[Path, ...]:
    if place.is_file():
        return (place,)
    found = sorted(p for p in place.glob("*") if p.suffix.lower() in _ENDINGS)
    if not found:
        raise DrainsimError(f"{place}: no CSV or Parquet files there")
    return tuple(found)


def client_of(address: str) -> Any:
    """Return a client of a running cluster, to be closed by `with`."""
    try:
        return importlib.import_module("distributed").Client(address, timeout=_CONNECT_S)
    except ImportError:
        raise DrainsimError("Dask is not installed; pip install 'drainsim[dask]'") from None
    except (OSError, ValueError) as error:
        raise DrainsimError(f"--cluster {address}: no cluster answers there ({error})") from None


def _write_part(
    folder: Path,
    write_results: Callable[..., None],
    until: int | None,
    risk: float,
    name: str,
    fleet: Fleet,
    answer: FleetAnswer,
) -> None:
    """Write the results of a file into a folder of its name; `until` None tries no actions."""
    actions = {}
    if until is not None:
        actions = cheapest_actions(
            fleet.vehicles, answer.vehicles, answer.settings, risk=risk, days=until, workers=1
        )
    with whole_folder(folder / name) as fresh:
        write_results(fresh, fleet, answer, actions, None, {}, None)
