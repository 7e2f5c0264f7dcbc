"""A fleet spread over a Dask cluster gets the answer one machine gives."""

import dataclasses
import pickle
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from drainsim.answers.fleet.answer import FleetAnswer
from drainsim.answers.fleet.fleet_dask import FileParts, write_fleet_dask
from drainsim.cli.fleet_cluster import read_frame
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


def in_files(folder: Path, text: str, count: int) -> FileParts:
    """Return a list as parts of so many files."""
    heading, *lines = text.splitlines()
    files = [folder / f"part{number}.csv" for number in range(count)]
    for number, file in enumerate(files):
        some = lines[len(lines) * number // count : len(lines) * (number + 1) // count]
        file.write_text("\n".join([heading, *some, ""]), "utf-8")
    return FileParts(tuple(read_frame(files[0]).columns), tuple(files), read_frame)


def keep(folder: Path, name: str, fleet: Fleet, answer: FleetAnswer) -> None:
    """Write a part's answer where the test finds it."""
    (folder / f"{name}.pickle").write_bytes(pickle.dumps(answer))


@pytest.mark.parametrize("files", [1, 4])
def test_a_cluster_gives_what_one_machine_gives(cluster: Any, tmp_path: Path, files: int) -> None:
    """Every vehicle's line, every row kept aside and the fleet's figures."""
    parts = in_files(tmp_path, LISTED, files)
    figures = write_fleet_dask(parts, SETTINGS, write=partial(keep, tmp_path), call_out_price=100.0)
    alone = answer_to(LISTED, call_out_price=100.0)
    answers = [pickle.loads(path.read_bytes()) for path in tmp_path.glob("*.pickle")]
    by_id = {vehicle.id: vehicle for answer in answers for vehicle in answer.vehicles}
    assert by_id.keys() == {vehicle.id for vehicle in alone.vehicles}
    for vehicle in alone.vehicles:  # a file counts its own rows
        assert dataclasses.replace(by_id[vehicle.id], row=vehicle.row) == vehicle
    assert sum(len(answer.problems) for answer in answers) == len(alone.problems)
    assert figures == alone.as_dict()


def test_a_list_without_ids_is_one_sentence(cluster: Any, tmp_path: Path) -> None:
    """The mistake of the list comes back from the workers as such."""
    with pytest.raises(DrainsimError, match="no column names the vehicles"):
        write_fleet_dask(in_files(tmp_path, "colour\nred\n", 1), SETTINGS, write=keep)
