"""Supply points: which circuits are accepted, which refused, and why."""

import csv
import io
import json
from dataclasses import replace
from typing import Any

import pytest

from drainsim.answers.installer.circuit.circuit_verdict import RoleVerdict
from drainsim.answers.installer.circuit.circuits import CircuitsAnswer, choose_circuits
from drainsim.errors import RecordError
from drainsim.files.circuits import Circuit
from drainsim.files.examples import example_text
from drainsim.physics.supply_point import fuse_for_peak_a, wire_ampacity_a
from drainsim.vehicle.keys.scenario import scenario_from_dict
from tests.build import DRAWS

SCENARIO = scenario_from_dict(
    {"battery": {}, "unit": {"preset": "hourly"}, "run": {"draws": DRAWS}}, where="s.toml"
)
DIRECT = Circuit(
    name="Battery", kind="battery_direct", fuse_a=2, wire_mm2=0.75, length_m=2.5, load_a=0,
    off_v=12.6, after_sleep_v=12.5, on_v=12.4, cranking_v=9.6, wakes_module_a=0,
)  # fmt: skip
HOT = Circuit(
    name="Clock", kind="always_hot", fuse_a=10, wire_mm2=0.75, length_m=1.5, load_a=2, off_v=12.6,
    after_sleep_v=12.5, on_v=12.3, cranking_v=9.5, loaded_v=12.5, loaded_at_a=2, wakes_module_a=0,
)  # fmt: skip
KEY = Circuit(
    name="Coil", kind="ignition", fuse_a=15, wire_mm2=0.75, length_m=1.8, load_a=5, off_v=0,
    after_sleep_v=0, on_v=12.3, cranking_v=9.3, loaded_v=12.2, loaded_at_a=2, wakes_module_a=0,
)  # fmt: skip
RADIO = replace(KEY, name="Radio", kind="accessory", cranking_v=0.0)


def choose(*circuits: Circuit, **options: Any) -> CircuitsAnswer:
    """Return the answer for circuits."""
    return choose_circuits(circuits, scenario=SCENARIO, **options)


def power_of(circuit: Circuit, **options: Any) -> RoleVerdict:
    """Return the constant-power verdict of one circuit among usable others."""
    answer = choose(circuit, replace(DIRECT, name="Other"), **options)
    return next(one for one in answer.constant_power if one.circuit == circuit)


def sense_of(circuit: Circuit, **options: Any) -> RoleVerdict:
    """Return the ignition-sense verdict of one circuit."""
    answer = choose(circuit, replace(DIRECT, name="Other"), **options)
    return next(one for one in answer.ignition_sense if one.circuit == circuit)


def words(verdict: RoleVerdict, effect: str) -> str:
    """Return the reasons of an effect."""
    return "; ".join(reason.text for reason in verdict.reasons if reason.effect == effect)


def test_good_circuits_are_chosen_and_kept_apart() -> None:
    """An always-hot point feeds, an ignition circuit senses, never one for both."""
    answer = choose(HOT, KEY, RADIO)
    assert answer.chosen_power is not None
    assert answer.chosen_sense is not None
    assert answer.chosen_power.circuit == HOT
    assert answer.chosen_sense.circuit == KEY


def test_retained_circuit_is_refused_with_both_readings() -> None:
    """12.6 V at key off and 0 V after 30 minutes: refused for constant power."""
    retained = replace(HOT, name="Socket", kind="retained", off_v=12.6, after_sleep_v=0.0)
    for kind in ("retained", "always_hot", "accessory"):  # whatever it was thought to be
        verdict = power_of(replace(retained, kind=kind))
        assert verdict.verdict == "refused"
        assert "12.6 V at key off but 0 V" in words(verdict, "refuses")
    assert sense_of(retained).verdict == "refused"


def test_radio_is_accepted_for_sense_with_its_consequence_named() -> None:
    """Dropping out while cranking is named; holding, there is nothing to name."""
    drops = sense_of(RADIO)
    assert drops.verdict == "accepted"
    assert "0 V while cranking" in words(drops, "consequence")
    holds = sense_of(replace(RADIO, cranking_v=9.0))
    assert holds.verdict == "accepted"
    assert not holds.consequences
    unread = sense_of(replace(RADIO, cranking_v=None))
    assert (unread.verdict, unread.deciding_reading) == ("cannot tell", "cranking_v")
    assert power_of(RADIO).verdict == "refused"


@pytest.mark.parametrize(
    ("name", "kind"), [("Module 7", "safety"), ("Airbag module", "always_hot")]
)
def test_airbag_with_the_best_numbers_is_refused(name: str, kind: str) -> None:
    """Class or name is enough, whatever the readings; the caution comes with it."""
    best = replace(HOT, name=name, kind=kind, fuse_a=30, load_a=0, loaded_v=12.6, cranking_v=12.0)
    for verdict in (power_of(best), sense_of(best)):
        assert verdict.verdict == "refused"
        assert "never splice" in words(verdict, "refuses")


@pytest.mark.parametrize(
    "name",
    [
        "Airbag feed", "SRS unit", "ABS pump", "brake lamp", "eCall box", "Belt tensioner",
        "Seat belt", "Hazard lamps and SOS button", "Hazard switch, crash sensor", "Hazard",
        "Gurtstraffer links", "Rückhaltesystem", "Notruf", "Bremslicht", "Lenkhilfe", "Airbag-SG",
        "prétensionneur", "freins", "pretensor", "freno", "sterzo", "gordelspanner", "remlicht",
        "handrem",
        "poduszka powietrzna", "hamulec", "Warnblinker und Airbag",
    ],
)  # fmt: skip
def test_safety_words_are_seen_in_names(name: str) -> None:
    """A restraint, braking or emergency circuit is known by its name, beside harmless words too."""
    assert power_of(replace(HOT, name=name)).verdict == "refused"


@pytest.mark.parametrize(
    "name",
    [
        "Radio", "Absolute clock", "Rear socket", "Escort lamp", "Keilriemen",
        "Lenkzeitgerät",         "French plug", "Cargo light", "Radio REM", "pasażer lampka",
    ],
)  # fmt: skip
def test_harmless_names_stay_harmless(name: str) -> None:
    """Letters within other words are no safety word, and nothing is said of them."""
    verdict = power_of(replace(HOT, name=name))
    assert verdict.verdict == "accepted"
    assert "safety_circuit" not in words(verdict, "condition")


@pytest.mark.parametrize(
    "name", ["Hazard switch", "hazard warning light", "Fan belt clutch", "Warnblinkschalter"]
)
def test_a_word_is_judged_in_its_context_and_says_so(name: str) -> None:
    """Hazard lamps are lamps: accepted, with what it was read as and how to say otherwise."""
    hazard = power_of(replace(HOT, name=name))
    assert hazard.verdict == "accepted"
    assert "read as" in words(hazard, "condition")
    assert "wiring diagram" in words(hazard, "condition")
    assert power_of(replace(HOT, name=name, safety_circuit="yes")).verdict == "refused"


def test_what_must_be_looked_up_first_comes_after_what_must_not() -> None:
    """Warning lamps with the better readings stand behind a plain circuit: their fuse is theirs."""
    lamps = replace(HOT, name="Hazard switch", cranking_v=12.0, load_a=0)
    plain = replace(HOT, name="Clock")
    chosen = choose(lamps, plain, KEY).chosen_power
    assert chosen is not None
    assert chosen.circuit.name == "Clock"


def test_the_example_measures_nothing_on_an_airbag() -> None:
    """What everybody copies keeps its own caution: no reading on a safety circuit."""
    text = example_text("circuits.csv")
    (row,) = (row for row in csv.DictReader(io.StringIO(text)) if row["class"] == "safety")
    assert not any(value for key, value in row.items() if key not in {"name", "class"})


def test_the_user_corrects_a_word_but_not_an_airbag() -> None:
    """Refusals say how to correct them; what has no other meaning stays refused."""
    brake = replace(HOT, name="Brake light dimmer")
    assert "write no under safety_circuit" in words(power_of(brake), "refuses")
    corrected = power_of(replace(brake, safety_circuit="no"))
    assert corrected.verdict == "accepted"
    assert "the table says" in words(corrected, "condition")
    for name in ("Airbag module", "Hazard switch and airbag lamp"):
        assert power_of(replace(HOT, name=name, safety_circuit="no")).verdict == "refused"
    assert power_of(replace(HOT, kind="safety", safety_circuit="no")).verdict == "refused"


def test_missing_reading_is_the_one_to_take_next() -> None:
    """Without an after-sleep reading always hot cannot be told from retained."""
    for reading in ("after_sleep_v", "load_a", "fuse_a"):
        verdict = power_of(replace(HOT, **{reading: None}))
        assert (verdict.verdict, verdict.deciding_reading) == ("cannot tell", reading)
    unloaded = power_of(replace(HOT, loaded_v=None, loaded_at_a=None))
    assert unloaded.deciding_reading == "loaded_v"
    # A reading that refuses makes the missing ones pointless.
    assert power_of(replace(HOT, after_sleep_v=0.0, load_a=None)).deciding_reading is None


def test_fuse_is_loaded_to_75_percent() -> None:
    """Component maker's fuse guide: 75 % of the rating for good; 7.25 + 0.25 of 10 A fits."""
    fits, over = (power_of(replace(HOT, load_a=load)) for load in (7.25, 7.26))
    assert fits.verdict == "accepted"
    assert over.verdict == "refused"
    assert "leaves 0.24 A" in words(over, "refuses")


def test_loaded_reading_finds_bad_contacts() -> None:
    """Above 0.5 V at 2 A is suspect (workshop manuals), above 0.2 V told (trade school note)."""
    bad, poor, good = (power_of(replace(HOT, loaded_v=12.6 - drop)) for drop in (0.52, 0.21, 0.19))
    assert bad.verdict == "refused"
    assert "260 mohm" in words(bad, "refuses")
    assert len(poor.consequences) == 1
    assert not good.consequences
    assert power_of(replace(HOT, loaded_v=13.0)).verdict == "cannot tell"


def test_control_unit_kept_awake_costs_days() -> None:
    """Days lost grow with the current; a small loss is told, a large one refused."""
    small, large = (power_of(replace(HOT, wakes_module_a=awake)) for awake in (0.004, 0.5))
    assert small.verdict == "accepted"
    assert "instead of" in words(small, "consequence")
    assert large.verdict == "refused"
    assert small.days_lost is not None
    assert large.days_lost is not None
    assert 0.0 < small.days_lost < large.days_lost
    ranked = choose(replace(HOT, name="A", wakes_module_a=0.004), replace(HOT, name="B"), KEY)
    assert ranked.constant_power[0].circuit.name == "B"


def test_dip_while_cranking_against_the_units_minimum() -> None:
    """8.2 V at the point is below 9 V and above 7.5 V, less the drop in the wire."""
    low = replace(HOT, cranking_v=8.2)
    assert "below its minimum of 9 V" in words(power_of(low, minimum_v=9.0), "consequence")
    assert not power_of(low, minimum_v=7.5).consequences
    answer = choose(low, KEY)
    lowest = answer.numbers["Clock"].lowest_cranking_v
    assert lowest is not None
    assert 8.0 < lowest < 8.2
    # ISO 16750-2 level II, secondary source: 6.5 V for 10 s needs a unit that works there.
    below = [level.below_minimum_s for level in choose(HOT, minimum_v=6.0).starting_profile]
    assert below[0] == 0.0
    assert 0.0 < below[1] < 0.1
    assert choose(HOT, minimum_v=7.0).starting_profile[1].below_minimum_s > 10.0


def test_wire_and_fuse_follow_from_the_run() -> None:
    """Hot is worse than normal, longer is worse; an unprotected wire gets its own fuse."""
    numbers = choose(HOT, replace(HOT, name="Far", length_m=15.0)).numbers
    near, far = numbers["Clock"], numbers["Far"]
    assert near.drop_normal_v is not None
    assert near.drop_hot_v is not None
    assert far.drop_hot_v is not None
    assert near.drop_normal_v < near.drop_hot_v < far.drop_hot_v
    thin = power_of(replace(HOT, fuse_a=30, wire_mm2=0.5))
    assert "does not protect the new wire" in words(thin, "condition")
    assert thin.verdict == "accepted"


@pytest.mark.parametrize("length_m", [None, 0.3, 3.0, 20.0])
@pytest.mark.parametrize("peak_a", [3.4, 6.0, 8.0, 12.0, 19.0])
def test_a_section_that_is_asked_for_carries_the_fuse(
    length_m: float | None, peak_a: float
) -> None:
    """A fuse protects its cable (IEC 60364-4-43): no wire is named that it does not protect."""
    thin = replace(HOT, fuse_a=30, load_a=0.0, wire_mm2=0.3, length_m=length_m)
    verdict = power_of(thin, peak_a=peak_a)
    asked = [one.value for one in verdict.reasons if one.unit == "mm²"]
    fuse_a = fuse_for_peak_a(peak_a)
    assert fuse_a is not None
    assert all(float(wire_ampacity_a(section)) >= fuse_a for section in asked)
    assert asked or verdict.verdict == "refused"  # no usual section carries it


def test_direct_connection_is_always_a_candidate() -> None:
    """Without a battery row one is added, told of, and asks for its length."""
    answer = choose(KEY)
    direct = answer.constant_power[0]
    assert direct.circuit.kind == "battery_direct"
    assert (direct.verdict, direct.deciding_reading) == ("cannot tell", "length_m")
    assert any("was not in the list" in warning for warning in answer.warnings)


def test_24_volt_limits_are_24_volt_limits() -> None:
    """Readings of 24 V are recognised; 12.6 V there is not live; the profile is the 24 V one."""

    def doubled(circuit: Circuit) -> Circuit:
        keys = ("off_v", "after_sleep_v", "on_v", "cranking_v")
        volts = {key: 2 * (getattr(circuit, key) or 0.0) for key in keys}
        return replace(circuit, **volts, loaded_v=2 * 12.6 - 0.1, loaded_at_a=2)

    answer = choose(doubled(HOT), doubled(KEY))
    assert answer.needs.system_v == 24
    assert answer.chosen_power is not None
    assert answer.chosen_power.circuit.name == "Clock"
    assert answer.starting_profile[1].hold_v == 15.0
    half = replace(doubled(HOT), after_sleep_v=12.6)
    assert power_of(half, system_v=24).verdict == "refused"
    with pytest.raises(RecordError, match="keep 12 V and 24 V"):
        choose(doubled(HOT), KEY, replace(HOT, name="12 V point"))
    with pytest.raises(RecordError, match="--system 24"):
        choose(doubled(HOT), system_v=12)


def test_a_scenario_of_24_v_is_a_24_v_vehicle() -> None:
    """P = U · I: a switching unit's peak told at 12 V is half of it at 24 V, whoever says 24 V."""
    pair = {"battery": {"system": "24V"}, "unit": {"preset": "hourly"}, "run": {"draws": DRAWS}}
    volts = {"off_v": 25.2, "after_sleep_v": 25.0, "on_v": 24.6, "cranking_v": 19.0}
    at_24_v = replace(HOT, **volts, loaded_v=None)
    answers = [
        choose_circuits([at_24_v], scenario=scenario_from_dict(pair)),
        choose_circuits([at_24_v], scenario=SCENARIO),
        choose_circuits([HOT], scenario=scenario_from_dict(pair)),  # a tap of one battery
    ]
    assert {answer.needs.system_v for answer in answers} == {24}
    assert [answer.needs.peak_at_a(24.0) for answer in answers] == [0.125] * 3
    told = {one.circuit.name: one.verdict for one in answers[2].constant_power}
    assert told["Clock"] == "refused"


def test_json_holds_choice_reasons_and_numbers() -> None:
    """Every verdict comes with reasons, each with text and unit."""
    answer = json.loads(json.dumps(choose(HOT, KEY, RADIO).as_dict(), allow_nan=False))
    assert answer["choice"] == {"constant_power": "Clock", "ignition_sense": "Coil"}
    for one in answer["constant_power"] + answer["ignition_sense"]:
        assert one["verdict"] in {"accepted", "refused", "cannot tell"}
        assert all(reason["text"] for reason in one["reasons"])
    assert answer["constant_power"][0]["numbers"]["required_fuse_a"] == 2.0
    assert answer["cautions"]


@pytest.mark.parametrize(
    "options", [{"minimum_v": 0.0}, {"peak_a": -1.0}, {"sense_minimum_v": 99.0}, {"system_v": 48}]
)
def test_impossible_needs_are_refused(options: dict[str, float]) -> None:
    """A unit that cannot be is one sentence."""
    with pytest.raises(RecordError, match=r"must be|use 12 or 24"):
        choose(HOT, **options)


def test_a_circuit_switched_off_while_cranking_does_not_feed() -> None:
    """Live asleep but dead during the start: the unit would lose its supply every time."""
    verdict = power_of(replace(HOT, cranking_v=0.0))
    assert verdict.verdict == "refused"
    assert "0 V while cranking" in words(verdict, "refuses")


def test_always_hot_does_not_sense_even_unread() -> None:
    """Sense tied to constant power is refused by its class, without a reading."""
    verdict = sense_of(replace(HOT, off_v=None))
    assert verdict.verdict == "refused"
    assert "does not follow the key" in words(verdict, "refuses")


def test_a_floating_reading_is_judged_at_the_systems_own_voltage() -> None:
    """0.8 V after sleep is nothing at 24 V, as 0.4 V is at 12 V: trips would end late."""
    late = "every trip would end late"
    at_12 = replace(KEY, off_v=12.6, after_sleep_v=0.4)
    assert late in words(sense_of(at_12), "refuses")
    at_24 = replace(KEY, off_v=25.2, after_sleep_v=0.8, on_v=25.0, cranking_v=19.0, loaded_v=24.9)
    direct = {"off_v": 25.2, "after_sleep_v": 25.0, "on_v": 25.0, "cranking_v": 19.0}
    answer = choose(at_24, replace(DIRECT, **direct), system_v=24)
    verdict = next(one for one in answer.ignition_sense if one.circuit == at_24)
    assert late in words(verdict, "refuses")
