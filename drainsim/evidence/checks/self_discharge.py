"""Charge a battery loses by itself."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.asking import AGM, ANTIMONY, FLOODED, GEL, LITHIUM
from drainsim.evidence.check import OTHER_SOURCE, SAME_SOURCE, SECONDARY, Check, found_in, within

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
            conditions="10 °C",
            published=0.0003 / _SPAN * 100.0,
            independence=SAME_SOURCE,
            model=lambda: asking.loss_percent(ANTIMONY, 10.0, 1.0),
        ),
        _day(
            key="loss-antimony-27c",
            conditions="26.7 °C",
            published=0.001 / _SPAN * 100.0,
            independence=SAME_SOURCE,
            model=lambda: asking.loss_percent(ANTIMONY, 26.7, 1.0),
        ),
        _day(
            key="loss-antimony-38c",
            conditions="37.8 °C",
            published=0.0025 / _SPAN * 100.0,
            independence=SAME_SOURCE,
            model=lambda: asking.loss_percent(ANTIMONY, 37.8, 1.0),
        ),
        _month(
            key="loss-antimony-roller",
            conditions="antimony, below 26.7 °C, 0.001 of gravity a day",
            published=0.001 * 30.0 / _SPAN * 100.0,
            **found_in(s.TM_ROLLER, SAME_SOURCE, "also TM 5-3820-256-24-4"),
            model=lambda: asking.loss_percent(ANTIMONY, 25.0, 30.0),
        ),
        _month(
            key="loss-antimony-handbook",
            conditions="1.6 % antimony, 20 °C",
            published=6.0,
            **found_in(s.ALLOY_BOOK, OTHER_SOURCE, "self-discharge by alloy"),
            expected_to_disagree=(
                "low-antimony plates lose half of what older ones do; the profile keeps the "
                "higher figure, the cautious side, with a spread that covers a factor of 2. What "
                "follows for the user: a young low-antimony battery stands longer than we say"
            ),
            model=lambda: asking.loss_percent(ANTIMONY, 20.0, 30.0),
        ),
        _check(
            key="loss-16-weeks-faq",
            quantity="charge lost in 16 weeks, 125 Ah",
            conditions="26.7 °C, flooded, 4 % a week",
            **within(80.0, "Ah", _HALF_WAY, _FACTOR_TWO, relative=True),
            **found_in(s.FLOODED_FAQ, OTHER_SOURCE, "worked example (linear)"),
            model=lambda: 1.25 * asking.loss_percent(ANTIMONY, 26.7, 112.0),
        ),
    )


def _others() -> tuple[Check, ...]:
    return (
        _day(
            key="loss-antimony-motorcycle",
            quantity="charge lost per day, antimony",
            conditions="25 °C, small batteries: full to empty in 200 days",
            published=100.0 / 200.0,
            tolerance=_HALF_WAY,
            tolerance_reason=_FACTOR_TWO,
            **found_in(s.SMALL_BATTERY_MANUAL, OTHER_SOURCE, "page 16"),
            model=lambda: asking.loss_percent(ANTIMONY, 25.0, 1.0),
        ),
        _day(
            key="loss-calcium-motorcycle",
            quantity="charge lost per day, calcium",
            conditions="25 °C, small batteries: full to empty in 600 days",
            published=100.0 / 600.0,
            tolerance=_HALF_WAY,
            tolerance_reason=_FACTOR_TWO,
            **found_in(s.SMALL_BATTERY_MANUAL, OTHER_SOURCE, "page 16"),
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
            conditions="standby AGM, 25 °C",
            published=3.0,
            **found_in(s.STANDBY_SHEET, OTHER_SOURCE),
            model=lambda: asking.loss_percent(AGM, 25.0, 30.0),
        ),
        _month(
            key="loss-agm-handbook-20c",
            conditions="AGM calcium, 20 °C",
            published=3.0,
            tolerance=0.32,
            tolerance_reason="the constant is the geometric mean of two figures 2.1 apart",
            **found_in(s.ALLOY_BOOK, SAME_SOURCE, "self-discharge by alloy"),
            model=lambda: asking.loss_percent(AGM, 20.0, 30.0),
        ),
        _month(
            key="loss-agm-handbook-10c",
            conditions="AGM calcium, 10 °C",
            published=1.5,
            tolerance=0.32,
            tolerance_reason="the constant is the geometric mean of two figures 2.1 apart",
            **found_in(s.ALLOY_BOOK, SAME_SOURCE, "self-discharge by alloy"),
            model=lambda: asking.loss_percent(AGM, 10.0, 30.0),
        ),
        _month(
            key="loss-agm-support",
            conditions="AGM, 25 °C",
            published=2.0,
            tolerance_reason=_FACTOR_TWO,
            **found_in(s.AGM_SUPPORT, SAME_SOURCE),
            expected_to_disagree=(
                "the profile stands between this and the handbook's 3 % at 20 °C (geometric "
                "mean), with a spread that covers both. What follows for the user: little; "
                "self-discharge of an AGM battery is a tenth of a usual parking drain"
            ),
            model=lambda: asking.loss_percent(AGM, 25.0, 30.0),
        ),
        _month(
            key="loss-gel-handbook",
            conditions="gel calcium, 20 °C",
            published=2.0,
            **found_in(s.ALLOY_BOOK, SAME_SOURCE, "self-discharge by alloy"),
            model=lambda: asking.loss_percent(GEL, 20.0, 30.0),
        ),
        _check(
            key="loss-calcium-shelf",
            quantity="shelf life until a recharge, from full to 75 %",
            conditions="calcium, middle of the printed 0 to 26 °C",
            **within(12.0, "months", 0.0, "'12 months or more'", bound="at least"),
            **found_in(s.TM_WATER, SAME_SOURCE, "page 375"),
            model=lambda: asking.months_to_charge(FLOODED, 13.0, 0.75),
        ),
        _month(
            key="loss-lithium-sailor",
            conditions="lithium iron phosphate with its protection, 20 °C",
            published=(2.0, 3.0),
            tolerance=0.25,
            tolerance_reason="another seller prints 3 to 5 %: a quarter reaches half way there",
            **found_in(s.LFP_SAILOR, SAME_SOURCE),
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
            conditions="10 to 26.7 °C",
            published=2.06,
            **found_in(s.TM_STORAGE, SAME_SOURCE, "page 4-14"),
            model=lambda: _ten_kelvin_factor(ANTIMONY),
        ),
        law(
            key="loss-law-seller",
            conditions="general statement",
            published=2.0,
            **found_in(s.SELLER_RANGE, OTHER_SOURCE),
            model=lambda: _ten_kelvin_factor(FLOODED),
        ),
        law(
            key="loss-law-agm-support",
            conditions="AGM, 'up to 50 % faster' at 35 °C",
            published=1.5,
            **found_in(s.AGM_SUPPORT, OTHER_SOURCE, grade=SECONDARY),
            expected_to_disagree=(
                "two other sources and measured gravity drops say a doubling. What follows for the "
                "user: for AGM in summer heat our days are cautious"
            ),
            model=lambda: _ten_kelvin_factor(AGM),
        ),
    )
