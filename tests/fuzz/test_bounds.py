"""Size, tricks and special files: refused or read within bounded memory."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from drainsim.errors import RecordError, ScenarioError
from drainsim.files.reading import file_within, refuse_long_line
from drainsim.vehicle.case import resolve
from drainsim.vehicle.documents.complaint import read_complaint
from drainsim.vehicle.keys.scenario import read_scenario

ROOT = Path(__file__).resolve().parents[2]
# Cases of `bounds`: small files that are tricky, and large ones, written for a minute; all of them
# take several.
TRICKY = ("beyond any", "lie", "entities", "bra", "key of")
LARGE = ("10 million empty", "line of", "blanks")
# Peak of a reader in MB: a file of at most 50 MB as bytes, as text and as the copy of four bytes a
# letter that Python's line reader makes, and some room. The log's (100 MB allowed) also holds two
# columns of ten million cells for pandas.
MOST_MB = 320.0
MOST_LOG_MB = 600.0
pytestmark = pytest.mark.skipif(not Path("/proc/self/clear_refs").exists(), reason="needs /proc")


def _found(words: tuple[str, ...]) -> dict[str, tuple[str, float]]:
    """Return what these cases ended in and their peak memory, measured in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.fuzz.bounds", *words],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    answer: dict[str, tuple[str, float]] = json.loads(done.stdout)
    return answer


@pytest.fixture(scope="module", params=[TRICKY, LARGE], ids=["tricky", "large"])
def found(request: pytest.FixtureRequest) -> dict[str, tuple[str, float]]:
    """Return the cases of one kind."""
    return _found(request.param)


SAID = {
    "fleet: 10 million empty rows": "answer",
    "fleet: a line of 50 MB": "a line of more than 1 MB",
    "log: a line of 50 MB": "a line of more than 1 MB",
    "sheet: a row beyond any sheet": "a row beyond the 1048576 a sheet can have",
    "zip: a sheet of 120 MB of blanks": "unpacks without end",
    "zip: the size of a part is a lie": "not a readable XLSX workbook",
    "xml: entities of entities": "XLSX workbook",
    "job: 400,000 brackets": "nested too deeply",
    "scenario: a million braces": "nested too deeply",
    "scenario: a key of 300,000 parts": "a key of more than 32 parts",
    "pipe, read_table": "not a regular file",
    "link to a device, read_scenario": "not a regular file",
    "link in a circle, text": "no such file",
}


@pytest.mark.nightly
def test_large_and_tricky_files_stay_within_memory(found: dict[str, tuple[str, float]]) -> None:
    """Ten million empty rows, a line of 50 MB, zip bombs, deep nesting: bounded, and a sentence."""
    assert len(found) > 30
    for name, (said, peak_mb) in found.items():
        assert peak_mb < (MOST_LOG_MB if name.startswith("log: 10") else MOST_MB), name
        assert said == "answer" or 10 < len(said) < 900, name
    told = {name: says for name, says in SAID.items() if name in found}
    assert len(told) >= 7
    for name, says in told.items():
        assert says in found[name][0]


def test_a_long_line_is_found_wherever_it_stands() -> None:
    """First, last or in the middle; short lines of any number pass."""
    short, long = b"a" * 999_999, b"a" * 1_000_001
    for raw in (long, b"x\n" + long, short + b"\n" + long + b"\n" + short, b"x\r" + long + b"\r"):
        with pytest.raises(RecordError, match=r"^f: a line of more than 1 MB"):
            refuse_long_line(raw, where="f", error=RecordError)
    for raw in (b"", short, (short + b"\n") * 5, (short + b"\r\n") * 3, b"\n" * 3_000_000):
        refuse_long_line(raw, where="f", error=RecordError)


OUT_OF_THE_FOLDER = [
    "../secret.csv", "a/../../secret.csv", "/etc/hostname", "\\\\host\\share\\x.csv",
    "..\\secret.csv",
    "C:\\secret.csv", "C:/secret.csv", "link.csv", "linked/secret.csv", "..", "a\x00b.csv",
]  # fmt: skip


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder with links that lead out of it, and one that does not."""
    (tmp_path / "secret.csv").write_text("temperature_c\n" + "5\n" * 9000, "utf-8")
    inside = tmp_path / "job"
    (inside / "weather").mkdir(parents=True)
    (inside / "weather" / "air.csv").write_text("temperature_c\n" + "5\n" * 9000, "utf-8")
    (inside / "link.csv").symlink_to(tmp_path / "secret.csv")
    (inside / "linked").symlink_to(tmp_path)
    (inside / "own.csv").symlink_to("weather/air.csv")
    return inside


@pytest.mark.parametrize("name", OUT_OF_THE_FOLDER)
def test_a_named_file_does_not_lead_out_of_the_folder(folder: Path, name: str) -> None:
    """Up, from the root, another drive or a link: refused in a sentence that names the key."""
    with pytest.raises(ScenarioError, match=r"^s: ") as caught:
        file_within(folder, name, where="s", error=ScenarioError)
    assert "folder" in str(caught.value)


@pytest.mark.parametrize("key", ["hourly_csv", "epw"])
def test_a_scenario_reads_weather_in_its_folder_only(folder: Path, key: str) -> None:
    """Below the scenario's folder, links inside it included; never what lies beside the folder."""
    path = folder / "scenario.toml"
    for name in ("../secret.csv", "link.csv", str(folder.parent / "secret.csv")):
        path.write_text(f"[battery]\n[site]\n{key} = '{name}'\n", "utf-8")
        with pytest.raises(ScenarioError, match=rf"scenario\.toml: site\.{key}: .*folder"):
            resolve(read_scenario(path))
    for name in ("weather/air.csv", "own.csv"):
        path.write_text(f"[battery]\n[site]\nhourly_csv = '{name}'\n", "utf-8")
        assert resolve(read_scenario(path)).site.battery_c[0] == pytest.approx(5.0)  # as the file


def test_a_complaint_reads_no_record_through_a_link(folder: Path) -> None:
    """A record's name beside the complaint may be a link; not one that leads out."""
    (folder.parent / "job.json").write_text('{"format": 1}', "utf-8")
    (folder / "job.json").symlink_to(folder.parent / "job.json")
    path = folder / "complaint.json"
    path.write_text('{"format": 1, "happened": {"parked_days": 3}, "job_record": "job.json"}')
    with pytest.raises(RecordError, match=r"job_record: 'job\.json' is a link that leads out"):
        read_complaint(path)
    (folder / "job.json").unlink()
    (folder / "job.json").write_text('{"format": 1}', "utf-8")
    assert read_complaint(path).happened == {"parked_days": 3}
