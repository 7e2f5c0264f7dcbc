"""Label definitions and what one label value says about another."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.check import (
    DEFINITION,
    MEASUREMENT,
    MEMORY,
    OTHER_SOURCE,
    READ,
    SAME_SOURCE,
    SECONDARY,
    Check,
    found_in,
    within,
)
from drainsim.physics import capacity

_check = partial(Check, subject="label")

_DEFINITION = "a definition: only rounding is allowed"
_RESERVE_SPREAD = (
    "labels that print both run from 1.53 to 1.79 min per Ah (vehicle labels, four batteries): 8 % "
    "either side of their mean"
)


def _reserve_min(capacity_ah: float) -> float:
    return asking.battery(capacity_ah=capacity_ah).reserve_capacity_min


def _capacity_ah(reserve_min: float) -> float:
    return asking.battery(reserve_capacity_min=reserve_min).capacity_ah


def _from_both_ah(reserve_min: float, cold_cranking_a: float) -> float:
    return asking.battery(
        reserve_capacity_min=reserve_min, cold_cranking_a=cold_cranking_a, cranking_standard="SAE"
    ).capacity_ah


def _reserve_round_trip_min(reserve_min: float) -> float:
    fitted = asking.battery(reserve_capacity_min=reserve_min)
    return 60.0 * capacity.runtime_h(25.0, fitted.kinetic)


def _twenty_hour_round_trip_h(capacity_ah: float) -> float:
    fitted = asking.battery(capacity_ah=capacity_ah)
    return capacity.runtime_h(capacity_ah / 20.0, fitted.kinetic)


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (
        _check(
            key="label-sae-7.2v-30s",
            quantity="voltage at the rated current, SAE label",
            conditions="540 A label, full, new, -18 °C, 30 s",
            **within(7.2, "V", 0.02, _DEFINITION),
            **found_in(s.SAE_MANUAL, DEFINITION, "at least 7.2 V after 30 s", SECONDARY),
            model=lambda: asking.cranking_v(540.0, -18.0),
        ),
        _check(
            key="label-en-7.5v-10s",
            quantity="voltage at the rated current, EN label",
            conditions="540 A label turned into its 30 s current, full, new, -18 °C, 10 s",
            **within(7.5, "V", 0.02, _DEFINITION),
            **found_in(s.LEXICON, DEFINITION, "at least 7.5 V at 10 s", SECONDARY),
            model=lambda: asking.cranking_v(
                540.0, -18.0, health=asking.label_30s_a(540.0, "EN") / 540.0, seconds=10.0
            ),
        ),
        _check(
            key="label-din-9v-30s",
            quantity="voltage at the rated current, old DIN label",
            conditions="300 A label turned into its 30 s current, full, new, -18 °C, 30 s",
            **within(9.0, "V", 0.02, _DEFINITION),
            **found_in(s.NORM_FORUM, DEFINITION, "U30s at least 9.0 V", SECONDARY),
            model=lambda: asking.cranking_v(
                300.0, -18.0, health=asking.label_30s_a(300.0, "DIN") / 540.0
            ),
        ),
        _check(
            key="label-din-over-en",
            quantity="old DIN rating over EN rating of one battery",
            conditions="-18 °C",
            **within(0.60, "", 0.05, "a rule of thumb with one digit"),
            **found_in(s.OWN_MEMORY, SAME_SOURCE, grade=MEMORY),
            model=lambda: asking.label_30s_a(1.0, "EN") / asking.label_30s_a(1.0, "DIN"),
        ),
        _check(
            key="label-reserve-definition",
            quantity="minutes at 25 A to empty",
            conditions="reserve capacity 120 min, new, full, 25 to 27 °C",
            **within(120.0, "min", 0.5, _DEFINITION),
            **found_in(
                s.SAE_MANUAL,
                DEFINITION,
                "reserve capacity: minutes at 25 A to 10.5 V, 27 °C",
                SECONDARY,
            ),
            model=lambda: _reserve_round_trip_min(120.0),
        ),
        _check(
            key="label-c20-definition",
            quantity="hours at C20/20 to empty",
            conditions="60 Ah, new, full, 25 °C",
            **within(20.0, "h", 0.05, _DEFINITION),
            **found_in(s.RESERVE_PAGE, DEFINITION, "20 h to 1.75 V per cell", SECONDARY),
            model=lambda: _twenty_hour_round_trip_h(60.0),
        ),
        _check(
            key="label-reserve-55ah-textbook",
            quantity="reserve capacity",
            conditions="55 Ah flooded",
            published=90.0,
            unit="min",
            tolerance=0.06,
            tolerance_reason="three published formulas give 84.9, 88.5 and 90.2 min: 6 % apart",
            tolerance_kind="relative",
            **found_in(s.POWER_BOOK, OTHER_SOURCE),
            model=lambda: _reserve_min(55.0),
        ),
        _check(
            key="label-reserve-55ah-formula",
            quantity="reserve capacity",
            conditions="55 Ah flooded",
            **within(
                90.2, "min", 0.5, "the profile carries this formula: only rounding is allowed"
            ),
            **found_in(s.RESERVE_PAGE, SAME_SOURCE, "RC = 0.83 C20^1.17"),
            model=lambda: _reserve_min(55.0),
        ),
        _check(
            key="label-reserve-225ah-formula",
            quantity="reserve capacity a 225 Ah truck battery delivers",
            conditions="225 Ah given alone, 25 A to empty",
            published=(469.0, 531.0),
            unit="min",
            tolerance_reason=(
                "published formulas diverge here (469, 468, 531 min): the range is used"
            ),
            **found_in(
                s.RESERVE_PAGE,
                SAME_SOURCE,
                "RC = 0.83 C20^1.17; upper end from an older industry formula (from memory)",
            ),
            model=lambda: (
                60.0 * capacity.runtime_h(25.0, asking.battery(capacity_ah=225.0).kinetic)
            ),
        ),
        _check(
            key="label-capacity-rc120-charger",
            quantity="20-hour capacity",
            conditions="reserve capacity 120 min",
            **within(75.5, "Ah", 0.08, _RESERVE_SPREAD, relative=True),
            **found_in(s.CHARGER_MANUAL, OTHER_SOURCE, "Ah = RC/2 + 15.5"),
            model=lambda: _capacity_ah(120.0),
        ),
        _check(
            key="label-capacity-rc120-bulletin",
            quantity="charge from full to complete rundown at a low rate",
            conditions="reserve capacity 120 min, new",
            **within(72.0, "Ah", 0.08, _RESERVE_SPREAD, relative=True),
            **found_in(s.DRAIN_BULLETIN, OTHER_SOURCE, "Ah = 0.6 RC", SECONDARY),
            model=lambda: asking.battery(reserve_capacity_min=120.0, health=1.0).full_charge_ah,
        ),
        _check(
            key="label-capacity-rc120-older",
            quantity="20-hour capacity",
            conditions="reserve capacity 120 min",
            **within(73.5, "Ah", 0.08, _RESERVE_SPREAD, relative=True),
            **found_in(s.OWN_MEMORY, OTHER_SOURCE, "older industry formula", MEMORY),
            model=lambda: _capacity_ah(120.0),
        ),
        *(
            _check(
                key=f"label-capacity-{minutes}-min-{amps}-a",
                quantity="20-hour capacity from both other labels",
                conditions=f"reserve capacity {minutes} min, {amps} A (SAE), flooded",
                **within(capacity_ah, "Ah", 0.08, _RESERVE_SPREAD, relative=True),
                **found_in(source, OTHER_SOURCE),
                model=partial(_from_both_ah, minutes, amps),
            )
            for capacity_ah, amps, minutes, source in (
                (60.0, 550, 92, s.LABEL_CARS),
                (60.0, 550, 100, s.LABEL_US),
                (68.0, 540, 122, s.LABEL_SERVICE),
                (74.0, 680, 130, s.LABEL_CODE),
            )
        ),
        _check(
            key="label-reserve-per-ah",
            quantity="reserve capacity over 20-hour capacity",
            conditions="66 Ah flooded, the middle of four labels of 60 to 74 Ah that print both",
            **within((1.53, 1.79), "min/Ah"),
            **found_in(s.VEHICLE_LABELS, OTHER_SOURCE),
            model=lambda: _reserve_min(66.0) / 66.0,
        ),
        _check(
            key="label-cranking-per-ah",
            quantity="cold cranking current over 20-hour capacity",
            conditions="flooded, four labels of 60 to 74 Ah that print both",
            **within((7.9, 9.2), "A/Ah"),
            **found_in(s.VEHICLE_LABELS, OTHER_SOURCE),
            model=lambda: asking.battery(capacity_ah=66.0).cold_cranking_a / 66.0,
        ),
        _check(
            key="label-cranking-per-ah-start-stop",
            quantity="cold cranking current over 20-hour capacity",
            conditions="enhanced flooded, 75 and 85 Ah, European rating",
            published=(852.0 / 85.0, 776.0 / 75.0),
            unit="A/Ah",
            tolerance=0.05,
            tolerance_reason="the European and the 30 s rating agree within a few per cent",
            tolerance_kind="relative",
            **found_in(s.START_STOP_SHEET, OTHER_SOURCE),
            model=lambda: (
                asking.battery(capacity_ah=80.0, profile="enhanced_flooded").cold_cranking_a / 80.0
            ),
        ),
        _check(
            key="label-new-below-rating",
            quantity="measured capacity of new batteries over the label's",
            conditions="14 stored AGM, 25 °C, 5 h rate",
            **within(
                (0.78, 0.90), "", 0.0, "6.1 to 7.1 Ah measured against 7.85 Ah: the range itself"
            ),
            **found_in(s.COLD_STUDY, MEASUREMENT, "stage S00", READ),
            expected_to_disagree=(
                "the label is taken at its word for a new battery, with 5 % spread; these were "
                "small standby batteries kept in store. What follows for the user: give a "
                "measured capacity or a health below 1 for a battery that has been on the shelf"
            ),
            model=lambda: asking.battery(age_years=0.0).capacity_health,
        ),
    )
