"""A fleet spread over a Dask cluster gets the answer one machine gives."""

import dataclasses
import io
import os
import pickle
import signal
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_dask import FileParts, write_fleet_dask
from drainsim.cli.fleet.fleet_cluster import read_frame
from drainsim.errors import DrainsimError
from drainsim.vehicle.documents.fleet_rows import Fleet
from tests.fleet_build import MIXED, SETTINGS, answer_to

distributed = pytest.importorskip("distributed", reason="in the extra dask")
pytestmark = pytest.mark.filterwarnings("ignore")  # a cluster's own shutdown talks

# Mistakes that only show across partitions: an id again, dates told apart by another row.
LISTED = MIXED + (
    "k;north;flooded;sixty;;;;;;;;;;;;;\n"
    "a;north;flooded;60;;;;;;;;;;;;;\n"
    "l;south;AGM;70;3;0,8;;;0,02;daily;;1,6;petrol;temperate;;02/11/2026;\n"
    "m;south;AGM;70;3;0,8;;;0,02;daily;;1,6;petrol;temperate;;20/11/2026;\n"
)


@pytest.fixture(scope="module")
def cluster() -> Iterator[Any]:
    """Start a local cluster of two processes."""
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
        ) as local,
        distributed.Client(local) as client,
    ):
        yield client


def in_files(folder: Path, text: str, count: int) -> list[Path]:
    """Write a list as so many files."""
    heading, *lines = text.splitlines()
    files = [folder / f"part{number}.csv" for number in range(count)]
    for number, file in enumerate(files):
        some = lines[len(lines) * number // count : len(lines) * (number + 1) // count]
        file.write_text("\n".join([heading, *some, ""]), "utf-8")
    return files


def parts_of(files: list[Path]) -> FileParts:
    """Return files as the parts of one list."""
    return FileParts(tuple(files), read_frame)


def keep(folder: Path, name: str, fleet: Fleet, answer: FleetAnswer) -> None:
    """Write a part's answer where the test finds it."""
    (folder / f"{name}.pickle").write_bytes(pickle.dumps(answer))


def read_and_note(folder: Path, file: Path) -> Any:
    """Read a file, leaving a line that says so."""
    with (folder / "read").open("a") as notes:
        notes.write(f"{file.name}\n")
    return read_frame(file)


def keep_or_die(folder: Path, name: str, fleet: Fleet, answer: FleetAnswer) -> None:
    """Write a part's answer; the first worker that comes to the third part is killed instead."""
    if name == "part2.csv":
        try:
            (folder / "killed").touch(exist_ok=False)
        except FileExistsError:
            pass
        else:
            os.kill(os.getpid(), signal.SIGKILL)
    keep(folder, name, fleet, answer)


def same_as_alone(folder: Path, figures: dict[str, Any], alone: FleetAnswer) -> None:
    """Compare every vehicle's line, every row kept aside and the fleet's figures."""
    answers = [pickle.loads(path.read_bytes()) for path in folder.glob("*.pickle")]
    by_id = {vehicle.id: vehicle for answer in answers for vehicle in answer.vehicles}
    assert by_id.keys() == {vehicle.id for vehicle in alone.vehicles}
    for vehicle in alone.vehicles:  # a file counts its own rows
        assert dataclasses.replace(by_id[vehicle.id], row=vehicle.row) == vehicle
    assert sum(len(answer.problems) for answer in answers) == len(alone.problems)
    assert figures == alone.as_dict()


@pytest.mark.parametrize("files", [pytest.param(1, marks=pytest.mark.nightly), 4])
def test_a_cluster_gives_what_one_machine_gives(cluster: Any, tmp_path: Path, files: int) -> None:
    """Whether the list is one file or several."""
    parts = parts_of(in_files(tmp_path, LISTED, files))
    figures = write_fleet_dask(parts, SETTINGS, write=partial(keep, tmp_path), call_out_price=100.0)
    same_as_alone(tmp_path, figures, answer_to(LISTED, call_out_price=100.0))


def test_a_lost_worker_costs_its_parts_again_and_nothing_else(cluster: Any, tmp_path: Path) -> None:
    """One of two workers is killed while it writes: the same to the bit, the rest read once."""
    before = set(cluster.scheduler_info()["workers"])
    files = tuple(in_files(tmp_path, LISTED, 5))
    parts = FileParts(files, partial(read_and_note, tmp_path))
    figures = write_fleet_dask(parts, SETTINGS, write=partial(keep_or_die, tmp_path))
    assert (tmp_path / "killed").exists()
    assert before != set(cluster.scheduler_info()["workers"])
    same_as_alone(tmp_path, figures, answer_to(LISTED))
    read = (tmp_path / "read").read_text().split()
    assert set(read) == {file.name for file in files}
    assert len(files) < len(read) < 2 * len(files)


def test_parquet_gives_what_the_same_cells_as_text_give(cluster: Any, tmp_path: Path) -> None:
    """Numbers, dates and gaps in columns of their own types, beside a file that is CSV."""
    frame = pd.read_csv(io.StringIO(MIXED), sep=";", decimal=",")
    for name in ("parked_from", "planned_return"):
        frame[name] = pd.to_datetime(frame[name])
    assert [frame[name].dtype.kind for name in ("capacity_ah", "state_of_charge")] == ["f", "f"]
    first, second = in_files(tmp_path, MIXED, 2)
    rows = len(read_frame(first))
    frame[:rows].to_parquet(first.with_suffix(".parquet"))
    parts = parts_of([first.with_suffix(".parquet"), second])
    figures = write_fleet_dask(parts, SETTINGS, write=partial(keep, tmp_path))
    same_as_alone(tmp_path, figures, answer_to(MIXED))


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        ("id;battery_profile;depot;capacity_ah", "column 2 is 'battery_profile' in b.csv and "),
        ("id;depot;battery_profile", "column 4 is missing in b.csv and 'capacity_ah' in a.csv"),
        ("id;depot;battery_profile;capacity_ah;fuel", "column 5 is 'fuel' in b.csv and missing in"),
    ],
)
def test_files_of_other_headings_are_one_sentence(
    cluster: Any, tmp_path: Path, heading: str, said: str
) -> None:
    """No file is read under the headings of another."""
    (tmp_path / "a.csv").write_text("id;depot;battery_profile;capacity_ah\na;north;AGM;60\n")
    (tmp_path / "b.csv").write_text(f"{heading}\n{';'.join('b' for _ in heading.split(';'))}\n")
    parts = parts_of([tmp_path / "a.csv", tmp_path / "b.csv"])
    with pytest.raises(DrainsimError, match=said) as refused:
        write_fleet_dask(parts, SETTINGS, write=partial(keep, tmp_path))
    assert str(refused.value).endswith("need the same headings in the same order")
    assert not list(tmp_path.glob("*.pickle"))


def test_a_list_without_ids_is_one_sentence(cluster: Any, tmp_path: Path) -> None:
    """The mistake of the list comes back from the workers as such."""
    with pytest.raises(DrainsimError, match="no column names the vehicles"):
        write_fleet_dask(
            parts_of(in_files(tmp_path, "colour\nred\n", 1)),
            SETTINGS,
            write=partial(keep, tmp_path),
        )
