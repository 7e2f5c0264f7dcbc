"""Tables of circuits: what is read, what is refused in a sentence."""

import pytest

from drainsim.errors import RecordError
from drainsim.files.circuits import HEADING, Circuit, circuits_csv, circuits_from_bytes
from drainsim.files.examples import example_text


def read(text: str) -> tuple[Circuit, ...]:
    """Return the circuits in a text."""
    return circuits_from_bytes(text.encode(), where="c.csv")


def test_example_reads_and_round_trips() -> None:
    """The example carries the issue's headings and survives being written again."""
    text = example_text("circuits.csv")
    assert text.splitlines()[0] == ",".join(HEADING)
    circuits = read(text)
    assert len(circuits) == 7
    assert circuits_from_bytes(circuits_csv(circuits).encode(), where="again") == circuits


def test_empty_cells_are_unread_and_gauges_are_sections() -> None:
    """An empty cell is None, not zero; AWG 18 is 0.82 mm²; decimal commas go with semicolons."""
    circuit = read("name;class;wire_awg;length_m;off_v\nLight;Always hot;18 AWG;2,5;\n")[0]
    assert circuit.kind == "always_hot"
    assert circuit.off_v is None
    assert circuit.length_m == 2.5
    # Printed wire tables: 18 AWG 0.823 mm².
    assert circuit.wire_mm2 == pytest.approx(0.823, abs=0.001)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("x,y\n1,2\n", "no column name"),
        ("name,class\n", "no circuits"),
        ("name,class\nA,foo\n", "row 2.*column class.*always_hot"),
        ("name,class,fuse_a\nA,safety,ten\n", "row 2.*column fuse_a: 'ten' is not a number in A"),
        ("name,class,off_v\nA,safety,nan\n", "column off_v.*not a number"),
        ("name,class,off_v\nA,safety,600\n", "column off_v: 600 V is outside"),
        ("name,class,fusea\nA,safety,1\n", "unknown column 'fusea'; did you mean fuse_a"),
        ("name,class,loaded_v\nA,safety,12\n", "loaded_at_a is empty"),
        ("name,class\nA,safety\na,safety\n", "row 3.*used twice"),
        ("name,class\nA,safety,1,2\n", "row 2 has 4 fields"),
        ("name,class,wire_awg\nA,safety,big\n", "no gauge"),
        ("name,class,wire_awg,wire_mm2\nA,safety,18,1\n", "one of them"),
        ("name,class,fuse_type\nA,safety,glass\n", "medium or mini"),
        ("name,class,safety_circuit\nA,ignition,maybe\n", "column safety_circuit: 'maybe'"),
        ("name,class\n" + "x" * 100 + ",safety\n", "80 characters"),
    ],
)
def test_bad_tables_are_one_sentence(text: str, words: str) -> None:
    """The message names the file, row and column, and what would be right."""
    with pytest.raises(RecordError, match=words) as caught:
        read(text)
    assert str(caught.value).startswith("c.csv: ")
    assert "\n" not in str(caught.value)
