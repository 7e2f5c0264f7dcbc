"""`drainsim fleet --cluster`: files answered and written by workers, the sums of one machine."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from drainsim.cli.main import main
from drainsim.files.readings.example import EXAMPLES
from drainsim.files.readings.state_file import read_state
from tests.fleet_build import MIXED

distributed = pytest.importorskip("distributed", reason="in the extra dask")
pytestmark = pytest.mark.filterwarnings("ignore")  # a cluster's own shutdown talks

SAME = ("on_dates", "course", "must_act", "vehicles_answered", "rows_to_correct")
HOW = ["--today", "2026-11-25", "--ahead", "60", "--draws", "100", "--no-actions"]


@pytest.fixture(scope="module")
def address() -> Iterator[str]:
    """Start a local cluster of two processes."""
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, dashboard_address=None, host="127.0.0.1"
    ) as local:
        yield local.scheduler_address


def in_files(folder: Path, heading: str, *parts: list[str]) -> Path:
    """Write parts of a list as files of a folder."""
    folder.mkdir()
    for number, lines in enumerate(parts):
        (folder / f"part{number}.csv").write_text("\n".join([heading, *lines, ""]))
    return folder


def summary(out: Path) -> dict[str, Any]:
    """Return a run's figures."""
    found: dict[str, Any] = json.loads((out / "summary.json").read_text())
    return found


def test_a_folder_on_a_cluster_adds_up_to_the_bit_as_on_one_machine(
    address: str, tmp_path: Path
) -> None:
    """The fleet's figures are the same; each file gets its own folder of results."""
    heading, *lines = MIXED.splitlines()
    folder = in_files(tmp_path / "list", heading, lines[:3], lines[3:7], lines[7:])
    (tmp_path / "whole.csv").write_text(MIXED)
    main(["fleet", str(tmp_path / "whole.csv"), "--out", str(tmp_path / "one"), *HOW])
    main(["fleet", str(folder), "--cluster", address, "--out", str(tmp_path / "many"), *HOW])
    one, many = summary(tmp_path / "one"), summary(tmp_path / "many")
    for name in SAME:
        assert many[name] == one[name], name
    written = sorted(path.parent.name for path in (tmp_path / "many").glob("*/vehicles.csv"))
    assert written == ["part0.csv", "part1.csv", "part2.csv"]


def test_a_vehicle_in_two_files_is_answered_once(
    address: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second is kept aside with the file and row of the first."""
    heading, *lines = MIXED.splitlines()
    folder = in_files(tmp_path / "list", heading, lines[:2], lines[1:3])
    out = tmp_path / "out"
    assert main(["fleet", str(folder), "--cluster", address, "--out", str(out), *HOW]) == 3
    assert "3 vehicles answered from 2 files" in capsys.readouterr().out
    aside = (out / "part1.csv" / "to_correct.csv").read_text()
    assert "is already in row 3 of part0.csv" in aside


@pytest.mark.nightly
def test_a_forecast_on_a_cluster_is_that_of_one_machine(
    address: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Answer and state are the same to the bit."""
    readings, told = tmp_path / "readings.csv", []
    readings.write_bytes(EXAMPLES["readings"].read_bytes())
    for name, how in (("one", ["--workers", "1"]), ("many", ["--cluster", address])):
        state = tmp_path / f"{name}.json"
        main(["forecast", str(readings), "--draws", "100", "--json", "--state", str(state), *how])
        told.append((capsys.readouterr().out, read_state(state)))
    assert told[0] == told[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--cluster", "tcp://127.0.0.1:1"], "needs --out"),
        (["--cluster", "tcp://127.0.0.1:1", "--out", "x", "--people", "a=1"], "none of --done"),
        (["--cluster", "tcp://127.0.0.1:1", "--out", "x"], "no CSV or Parquet"),
    ],
)
def test_what_a_cluster_cannot_do_is_one_sentence(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before anything is connected to."""
    assert main(["fleet", str(tmp_path), *words]) == 2
    assert said in capsys.readouterr().err
