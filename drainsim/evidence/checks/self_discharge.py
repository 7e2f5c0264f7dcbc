"""Charge a battery loses by itself."""

from functools import partial

from drainsim.evidence import asking
from drainsim.evidence import sources as s
from drainsim.evidence.asking import AGM, ANTIMONY, FLOODED, GEL, LITHIUM
from drainsim.evidence.check import SECONDARY, Check

_FACTOR_TWO = (
    "published rates of one type differ by a factor of 2 (antimony 6 or 12 %, AGM 2 or 4 % a "
    "month): half way in logarithm, 41 %"
)
_HALF_WAY = 0.41
_SPAN = 0.145  # specific gravity from full to flat of the type the manual describes

_month = partial(
    Check,
    subject="self-discharge",
    quantity="charge lost in 30 days",
    unit="%",
    tolerance=_HALF_WAY,
    tolerance_kind="relative",
    tolerance_reason=_FACTOR_TWO,
)
_day = partial(
    Check,
    subject="self-discharge",
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
            builds_on=True,
            model=lambda: asking.loss_percent(ANTIMONY, 10.0, 1.0),
        ),
        _day(
            key="loss-antimony-27c",
            conditions="26.7 °C",
            published=0.001 / _SPAN * 100.0,
            builds_on=True,
            model=lambda: asking.loss_percent(ANTIMONY, 26.7, 1.0),
        ),
        _day(
            key="loss-antimony-38c",
            conditions="37.8 °C",
            published=0.0025 / _SPAN * 100.0,
            builds_on=True,
            model=lambda: asking.loss_percent(ANTIMONY, 37.8, 1.0),
        ),
        _month(
            key="loss-antimony-roller",
            conditions="antimony, below 26.7 °C, 0.001 of gravity a day",
            published=0.001 * 30.0 / _SPAN * 100.0,
            source=s.TM_ROLLER,
            clause="also TM 5-3820-256-24-4",
            model=lambda: asking.loss_percent(ANTIMONY, 25.0, 30.0),
        ),
        _month(
            key="loss-antimony-handbook",
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
        Check(
            key="loss-16-weeks-faq",
            subject="self-discharge",
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
        Check(
            key="loss-months-antimony",
            subject="self-discharge",
            quantity="longest time between charges, from full to 75 %",
            conditions="flooded antimony, cool store (10 °C)",
            published=4.0,
            unit="months",
            tolerance=_HALF_WAY,
            tolerance_kind="relative",
            tolerance_reason=_FACTOR_TWO,
            source=s.ALLOY_BOOK,
            clause="maximum intervals, page 20",
            model=lambda: asking.months_to_charge(ANTIMONY, 10.0, 0.75),
        ),
    )


def _others() -> tuple[Check, ...]:
    return (
        _month(
            key="loss-agm-handbook-20c",
            conditions="AGM calcium, 20 °C",
            published=3.0,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            builds_on=True,
            model=lambda: asking.loss_percent(AGM, 20.0, 30.0),
        ),
        _month(
            key="loss-agm-handbook-10c",
            conditions="AGM calcium, 10 °C",
            published=1.5,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            builds_on=True,
            model=lambda: asking.loss_percent(AGM, 10.0, 30.0),
        ),
        _month(
            key="loss-agm-support",
            conditions="AGM, 25 °C",
            published=2.0,
            source=s.AGM_SUPPORT,
            builds_on=True,
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
            conditions="gel calcium, 20 °C",
            published=2.0,
            source=s.ALLOY_BOOK,
            clause="self-discharge by alloy",
            builds_on=True,
            model=lambda: asking.loss_percent(GEL, 20.0, 30.0),
        ),
        _month(
            key="loss-calcium-general",
            conditions="lead-acid in general, 20 to 25 °C, calcium profile",
            published=(3.0, 20.0),
            source=s.SELLER_RANGE,
            tolerance=_HALF_WAY,
            model=lambda: asking.loss_percent(FLOODED, 25.0, 30.0),
        ),
        _month(
            key="loss-general-site",
            conditions="lead-acid in general, room temperature; between calcium and antimony",
            published=(4.0, 6.0),
            source=s.UNIT_SITE,
            model=lambda: (
                (
                    asking.loss_percent(FLOODED, 20.0, 30.0)
                    * asking.loss_percent(ANTIMONY, 20.0, 30.0)
                )
                ** 0.5
            ),
        ),
        Check(
            key="loss-calcium-shelf",
            subject="self-discharge",
            quantity="shelf life until a recharge, from full to 75 %",
            conditions="calcium, middle of the printed 0 to 26 °C",
            published=(12.0, 24.0),
            unit="months",
            tolerance=0.0,
            tolerance_reason="'12 months or more': up to twice is taken as 'more'",
            source=s.TM_WATER,
            clause="page 375",
            builds_on=True,
            model=lambda: asking.months_to_charge(FLOODED, 13.0, 0.75),
        ),
        _month(
            key="loss-lithium-sailor",
            conditions="lithium iron phosphate with its protection, 20 °C",
            published=(2.0, 3.0),
            source=s.LFP_SAILOR,
            tolerance=0.25,
            tolerance_reason="another seller prints 3 to 5 %: a quarter reaches half way there",
            model=lambda: asking.loss_percent(LITHIUM, 20.0, 30.0),
        ),
        Check(
            key="loss-months-sealed",
            subject="self-discharge",
            quantity="longest time between charges, from full to 75 %",
            conditions="sealed (AGM), cool store taken as 20 °C",
            published=(6.0, 8.0),
            unit="months",
            tolerance=_HALF_WAY,
            tolerance_kind="relative",
            tolerance_reason=_FACTOR_TWO,
            source=s.ALLOY_BOOK,
            clause="maximum intervals, page 20",
            expected_to_disagree=(
                "a care interval, not a measured loss: the same page's 3 % a month gives 9.4 "
                "months to 75 %. What follows for the user: recharge at the maker's interval; the "
                "days shown here are to a no-start, not to the start of damage"
            ),
            model=lambda: asking.months_to_charge(AGM, 20.0, 0.75),
        ),
    )


def _laws() -> tuple[Check, ...]:
    law = partial(
        Check,
        subject="self-discharge",
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
            source=s.TM_STORAGE,
            clause="page 4-14",
            builds_on=True,
            model=lambda: _ten_kelvin_factor(ANTIMONY),
        ),
        law(
            key="loss-law-seller",
            conditions="general statement",
            published=2.0,
            source=s.SELLER_RANGE,
            model=lambda: _ten_kelvin_factor(FLOODED),
        ),
        law(
            key="loss-law-agm-support",
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
