"""Every constant that moves an example is held by a named check, or listed as held by nothing."""

import json
from typing import Any

import numpy as np
import pytest

from drainsim.cli import main
from drainsim.evidence import stored
from drainsim.evidence.holding import change_words, holding, holding_words
from drainsim.evidence.registry import all_checks
from tests.evidence import constant_effects as effects
from tests.evidence.constants import Constant

CHECKS = {check.key: check for check in all_checks()}
ROWS = stored.constants()["rows"]
ANEW = "run python -m tests.second_opinion.regenerate constants"
PARTS = 12


@pytest.fixture(scope="module")
def known() -> dict[str, Constant]:
    """Return the constants by name."""
    return {constant.key: constant for constant in effects.all_constants()}


def test_every_constant_is_in_the_stored_results(known: dict[str, Constant]) -> None:
    """A new constant, or one with another value, has to be changed and looked at, too."""
    values = {key: constant.value for key, constant in known.items()}
    assert values == pytest.approx(stored.constants()["constants"]), ANEW


@pytest.mark.parametrize(
    "key",
    [
        "vehicle.batteries.starting_charge._SURFACE_CHARGE_V",
        "physics.acceptance._COLD_LOG[0]",
        "physics.alternator.DRIVING_SHARE",
        "physics.solar.SOLAR_CONSTANT_KW_M2",
        "units hourly.listening_a",
        "default.vehicle.quiescent_a",
        "profile flooded_calcium.cold_cranking_a_per_ah",
        "profile agm.open_circuit_v[at 0.5]",
        "rule.usual capacity by engine, factor",
    ],
)
def test_constants_of_every_home_are_found(key: str, known: dict[str, Constant]) -> None:
    """Profiles, module constants, presets, defaults and rules are walked, not picked by hand."""
    assert key in known


def test_a_change_reaches_whoever_imported_the_constant(
    known: dict[str, Constant],
) -> None:
    """A changed constant changes the answer, and everything is as before afterwards."""
    before = effects.medians(["first page"])
    for key in ("physics.cranking._PETROL_BASE_A", "units hourly.listening_a"):
        constant = known[key]
        with constant.put(0.5 * constant.value):
            effects.forget()
            assert effects.medians(["first page"]) != before
        effects.forget()
        assert effects.medians(["first page"]) == before


HELD = [row for row in ROWS if row["held_by"]]


@pytest.mark.parametrize("row", HELD, ids=[f"{r['constant']} {r['change']}" for r in HELD])
def test_a_named_check_fails_with_the_changed_constant(
    row: dict[str, Any], known: dict[str, Constant], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A check of another source or a measurement passes as it is and fails with the change."""
    constant = known[row["constant"]]
    able = [key for key in row["held_by"] if key in CHECKS and CHECKS[key].is_independent]
    assert any(CHECKS[key].run().passed for key in able), ANEW
    with constant.put(row["changed_to"]), np.errstate(all="ignore"):
        effects.forget()
        noticed = any(effects.fails(CHECKS[key]) for key in able)
    effects.forget()
    assert noticed, ANEW


def test_what_nothing_holds_is_on_the_list(capsys: pytest.CaptureFixture[str]) -> None:
    """Text and JSON list each change that no outside value would notice, with its effect."""
    loose = [row for row in ROWS if not row["held_by"]]
    found = holding()
    assert {(c.constant, c.change) for c in found.unheld} == {
        (r["constant"], r["change"]) for r in loose
    }
    assert main(["evidence", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)["constants"]
    assert len(document["no_outside_value_holds"]) == len(loose)
    assert document["held"] + document["not_held"] == document["moving"]
    assert main(["evidence"]) == 0
    flowing = " ".join(capsys.readouterr().out.split())
    for sentence in (*holding_words(found), *map(change_words, found.unheld)):
        assert sentence in flowing


def test_only_what_can_prove_the_model_wrong_holds_a_constant() -> None:
    """A definition, the constant's own source or a remembered value holds nothing."""
    for row in ROWS:
        assert all(CHECKS[key].is_independent for key in row["held_by"] if key in CHECKS), ANEW
        assert not any(CHECKS[key].is_remembered for key in row["held_by"] if key in CHECKS), ANEW


@pytest.mark.parametrize(
    ("part", "parts"),
    [
        pytest.param(0, 4 * PARTS, marks=pytest.mark.slow),  # a few of them, in every run
        *(pytest.param(part, PARTS, marks=pytest.mark.nightly) for part in range(PARTS)),
    ],
)
def test_stored_rows_are_what_the_model_says(part: int, parts: int) -> None:
    """Changing every so-many-th constant anew, and running all checks, gives the stored rows."""
    every = effects.all_constants()
    before, passed = effects.medians(effects.EXAMPLES), effects.passing()
    for constant in every[part::parts]:
        kept = [row for row in ROWS if row["constant"] == constant.key]
        assert effects.rows_of(constant, before, passed) == kept, (constant.key, ANEW)
