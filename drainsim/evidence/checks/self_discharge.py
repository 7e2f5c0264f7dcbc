"""Charge a battery loses by itself."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.asking import AGM, ANTIMONY, FLOODED, GEL, LITHIUM
from drainsim.evidence.check import OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check

_check = partial(Check, subject="self-discharge")

_FACTOR_TWO = (
    "published rates of one type differ by a factor of 2 (antimony 6 or 12 %, AGM 2 or 4 % a "
    "month): half way in logarithm, 29 % to the lower one"
)
_HALF_WAY = 0.293
_SPAN = 0.145  # specific gravity from full to flat of the type the manual describes

_month = partial(
    _check,
    quantity="charge lost in 30 days",
    unit="%",
    tolerance=_HALF_WAY,
    tolerance_kind="relative",
    tolerance_reason=_FACTOR_TWO,
)
_day = partial(
    _check,
    quantity="charge lost per day, first 10 days, antimony",
    unit="%/day",
    tolerance=0.2,
    tolerance_kind="relative",
    tolerance_reason="the smallest printed drop, 0.0003, is rounded to one digit: 17 %",
    source=s.TM_STORAGE,
    clause="page 4-14, gravity drop over a span of 0.145",
)


def _ten_kelvin_factor(key: str) -> float:
    return asking.loss_percent(key, 25.0, 0.1) / asking.loss_percent(key, 15.0, 0.1)


def checks() -> tuple[Check, ...]:
    """Return the checks of this subject."""
    return (*_antimony(), *_others(), *_laws())


def _antimony() -> tuple[Check, ...]:
    return (
        _day(
            key="loss-antimony-10c",
            independence=SAME_SOURCE,
            conditions="10 °C",
            published=0.0003 / _SPAN * 100.0,
            model=lambda: asking.loss_percent(ANTIMONY, 10.0, 1.0),
        ),
        _day(
            key="loss-antimony-27c",
            independence=SAME_SOURCE,
            conditions="26.7 °C",
            published=0.001 / _SPAN * 100.0,
            model=lambda: asking.loss_percent(ANTIMONY, 26.7, 1.0),
        ),
        _day(
            key="loss-antimony-38c",
            independence=SAME_SOURCE,
            conditions="37.8 °C",
            published=0.0025 / _SPAN * 100.0,
            model=lambda: asking.loss_percent(ANTIMONY, 37.8, 1.0),
        ),
        _month(
            key="loss-antimony-roller",
            independence=SAME_SOURCE,
            conditions="antimony, below 26.7 °C, 0.001 of gravity a day",
            published=0.001 * 30.0 / _SPAN * 100.0,
            source=s.TM_ROLLER,
            clause="also TM 5-3820-256-24-4",
            model=lambda: asking.loss_percent(ANTIMONY, 25.0, 30.0),
        ),
        _month(
            key="loss-antimony-handbook",
            independence=OTHER_SOURCE,
            conditions="1.6 % antimony, 20 °C",
            published=6.0,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            expected_to_disagree=(
                "low-antimony plates lose half of what older ones do; the profile keeps the "
                "higher figure, the cautious side, with a spread that covers a factor of 2. What "
                "follows for the user: a young low-antimony battery stands longer than we say"
            ),
            model=lambda: asking.loss_percent(ANTIMONY, 20.0, 30.0),
        ),
        _check(
            key="loss-16-weeks-faq",
            independence=OTHER_SOURCE,
            quantity="charge lost in 16 weeks, 125 Ah",
            conditions="26.7 °C, flooded, 4 % a week",
            published=80.0,
            unit="Ah",
            tolerance=_HALF_WAY,
            tolerance_kind="relative",
            tolerance_reason=_FACTOR_TWO,
            source=s.FLOODED_FAQ,
            clause="worked example (linear)",
            model=lambda: 1.25 * asking.loss_percent(ANTIMONY, 26.7, 112.0),
        ),
    )


def _others() -> tuple[Check, ...]:
    return (
        _day(
            key="loss-antimony-motorcycle",
            independence=OTHER_SOURCE,
            quantity="charge lost per day, antimony",
            conditions="25 °C, small batteries: full to empty in 200 days",
            published=100.0 / 200.0,
            tolerance=_HALF_WAY,
            tolerance_reason=_FACTOR_TWO,
            source=s.SMALL_BATTERY_MANUAL,
            clause="page 16",
            model=lambda: asking.loss_percent(ANTIMONY, 25.0, 1.0),
        ),
        _day(
            key="loss-calcium-motorcycle",
            independence=OTHER_SOURCE,
            quantity="charge lost per day, calcium",
            conditions="25 °C, small batteries: full to empty in 600 days",
            published=100.0 / 600.0,
            tolerance=_HALF_WAY,
            tolerance_reason=_FACTOR_TWO,
            source=s.SMALL_BATTERY_MANUAL,
            clause="page 16",
            expected_to_disagree=(
                "small batteries, and a straight line to empty; the profile keeps a car battery's "
                "'12 months or more', with a spread that covers both. What follows for the user: a "
                "battery parked without any drain may stand a third shorter than we say; with a "
                "usual drain it hardly matters"
            ),
            model=lambda: asking.loss_percent(FLOODED, 25.0, 1.0),
        ),
        _month(
            key="loss-agm-standby",
            independence=OTHER_SOURCE,
            conditions="standby AGM, 25 °C",
            published=3.0,
            source=s.STANDBY_SHEET,
            model=lambda: asking.loss_percent(AGM, 25.0, 30.0),
        ),
        _month(
            key="loss-agm-handbook-20c",
            independence=SAME_SOURCE,
            conditions="AGM calcium, 20 °C",
            published=3.0,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            tolerance=0.32,
            tolerance_reason="the constant is the geometric mean of two figures 2.1 apart",
            model=lambda: asking.loss_percent(AGM, 20.0, 30.0),
        ),
        _month(
            key="loss-agm-handbook-10c",
            independence=SAME_SOURCE,
            conditions="AGM calcium, 10 °C",
            published=1.5,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            tolerance=0.32,
            tolerance_reason="the constant is the geometric mean of two figures 2.1 apart",
            model=lambda: asking.loss_percent(AGM, 10.0, 30.0),
        ),
        _month(
            key="loss-agm-support",
            independence=SAME_SOURCE,
            conditions="AGM, 25 °C",
            published=2.0,
            source=s.AGM_SUPPORT,
            tolerance_reason=_FACTOR_TWO,
            expected_to_disagree=(
                "the profile stands between this and the handbook's 3 % at 20 °C (geometric "
                "mean), with a spread that covers both. What follows for the user: little; "
                "self-discharge of an AGM battery is a tenth of a usual parking drain"
            ),
            model=lambda: asking.loss_percent(AGM, 25.0, 30.0),
        ),
        _month(
            key="loss-gel-handbook",
            independence=SAME_SOURCE,
            conditions="gel calcium, 20 °C",
            published=2.0,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            model=lambda: asking.loss_percent(GEL, 20.0, 30.0),
        ),
        _check(
            key="loss-calcium-shelf",
            independence=SAME_SOURCE,
            quantity="shelf life until a recharge, from full to 75 %",
            conditions="calcium, middle of the printed 0 to 26 °C",
            published=12.0,
            bound="at least",
            unit="months",
            tolerance=0.0,
            tolerance_reason="'12 months or more'",
            source=s.TM_WATER,
            clause="page 375",
            model=lambda: asking.months_to_charge(FLOODED, 13.0, 0.75),
        ),
        _month(
            key="loss-lithium-sailor",
            independence=SAME_SOURCE,
            conditions="lithium iron phosphate with its protection, 20 °C",
            published=(2.0, 3.0),
            source=s.LFP_SAILOR,
            tolerance=0.25,
            tolerance_reason="another seller prints 3 to 5 %: a quarter reaches half way there",
            model=lambda: asking.loss_percent(LITHIUM, 20.0, 30.0),
        ),
    )


def _laws() -> tuple[Check, ...]:
    law = partial(
        _check,
        quantity="factor of self-discharge per 10 K",
        unit="",
        tolerance=0.15,
        tolerance_reason="the manual's two ratios differ by 0.22 (2.06 and 2.28)",
    )
    return (
        law(
            key="loss-law-manual-cool",
            independence=SAME_SOURCE,
            conditions="10 to 26.7 °C",
            published=2.06,
            source=s.TM_STORAGE,
            clause="page 4-14",
            model=lambda: _ten_kelvin_factor(ANTIMONY),
        ),
        law(
            key="loss-law-seller",
            independence=OTHER_SOURCE,
            conditions="general statement",
            published=2.0,
            source=s.SELLER_RANGE,
            model=lambda: _ten_kelvin_factor(FLOODED),
        ),
        law(
            key="loss-law-agm-support",
            independence=OTHER_SOURCE,
            conditions="AGM, 'up to 50 % faster' at 35 °C",
            published=1.5,
            source=s.AGM_SUPPORT,
            grade=SECONDARY,
            expected_to_disagree=(
                "two other sources and measured gravity drops say a doubling. What follows for the "
                "user: for AGM in summer heat our days are cautious"
            ),
            model=lambda: _ten_kelvin_factor(AGM),
        ),
    )
