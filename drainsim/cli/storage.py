"""`drainsim storage`: may it be left standing for so many days, and what would make it hold?"""

import argparse
from pathlib import Path
from typing import Any

from drainsim.answers.advice import ADVICE
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.answer import StorageAnswer, storage
from drainsim.answers.storage.remedies import (
    NONE_IS_ENOUGH,
    NOT_ALONE,
    Preferences,
    Remedies,
    Remedy,
    outcome_words,
)
from drainsim.answers.storage.risk import WHEN, WHEN_WORDS, StandQuestion
from drainsim.answers.storage.searching.solving import ANYTHING, shown
from drainsim.answers.storage.sunshine import MonthPanel, panel_by_month
from drainsim.answers.words import FROZEN_CAUTION, placed_words, range_words
from drainsim.cli.assumptions import assumption_lines
from drainsim.cli.options import (
    ANSWERED,
    SAYS_NO,
    Commands,
    add_answer_options,
    add_check_option,
    add_command,
    add_page_options,
    add_scenario_options,
    chosen_page,
    chosen_scenario,
    number_pair,
    show,
    write_bytes,
)
from drainsim.cli.text import row, warning_lines, wrapped
from drainsim.errors import DrainsimError
from drainsim.language import MONTHS, Message, message, risk_words, say
from drainsim.sheets.storage.storage_pdf import storage_pdf
from drainsim.sheets.storage.storage_sheet import storage_html

_LABEL_WIDTH = 44
_WAY_NUMBER = "WAY=NUMBER, like panel=80"


def add_parser(commands: Commands) -> None:
    """Add the command and its options."""
    parser = add_command(
        commands,
        "storage",
        "may it be left standing for N days, and what makes it hold?",
        example="storage van.toml --days 60 --sheet sheet.pdf",
    )
    add_scenario_options(parser)
    parser.add_argument("--days", type=int, required=True, help="how long it will stand")
    add_asking_options(parser)
    add_answer_options(parser, verbose="every assumption", pages=True)
    parser.add_argument(
        "--for-ever",
        action="store_true",
        help="also the maintainer and the panel that make the stand endless (slow)",
    )
    parser.add_argument(
        "--by-month",
        action="store_true",
        help="also the solar panel for the same stand begun in each month",
    )
    add_check_option(parser, "it does not hold for those days within that risk")
    sheet = parser.add_argument_group("the customer's sheet")
    sheet.add_argument(
        "--sheet",
        type=Path,
        action="append",
        default=[],
        metavar="FILE",
        help="write the sheet, as .html or .pdf (may be repeated)",
    )
    add_page_options(sheet)
    parser.set_defaults(run=run)


def add_asking_options(parser: argparse.ArgumentParser) -> None:
    """Add the accepted risk and what the user thinks of the ways."""
    parser.add_argument(
        "--risk",
        type=float,
        default=DEFAULT_RISK,
        help=f"risk of a no-start that is accepted, 0 to 1 ({DEFAULT_RISK})",
    )
    parser.add_argument(
        "--when",
        choices=WHEN,
        default=WHEN[0],
        help="which start attempts count: the last day's (default), every day's, any hour's",
    )
    parser.add_argument(
        "--price",
        type=number_pair("--price", _WAY_NUMBER),
        action="append",
        default=[],
        metavar="WAY=AMOUNT",
        help=f"your price of a way, in your currency; ways: {', '.join(ADVICE)}",
    )
    parser.add_argument(
        "--effort",
        type=number_pair("--effort", _WAY_NUMBER),
        action="append",
        default=[],
        metavar="WAY=1..9",
        help="your ranking of a way: 1 least effort, 9 most",
    )
    parser.add_argument(
        "--without",
        action="append",
        default=[],
        metavar="WAY",
        help="leave a way out (may be repeated)",
    )


def chosen_preferences(options: argparse.Namespace) -> Preferences:
    """Return the user's prices and efforts, and what is out of the question."""
    return Preferences(
        prices=dict(options.price),
        efforts={way: round(value) for way, value in options.effort},
        without=tuple(options.without),
    )


def run(options: argparse.Namespace) -> int:
    """Answer, write the sheet, print."""
    question = StandQuestion(
        scenario=chosen_scenario(options),
        days=options.days,
        risk=options.risk,
        when=options.when,
        profile_folders=tuple(options.profiles),
    )
    preferences, sheet = chosen_preferences(options), chosen_page(options)
    for file in options.sheet:
        if file.suffix.lower() not in {".html", ".pdf"}:
            raise DrainsimError(f"--sheet {file}: name it .html or .pdf")
    answer = storage(question, preferences, unending=options.for_ever)
    for file in options.sheet:
        if file.suffix.lower() == ".pdf":
            write_bytes(file, storage_pdf(answer, sheet))
        else:
            write_bytes(file, storage_html(answer, sheet).encode())
    months = panel_by_month(question) if options.by_month else ()

    def document() -> dict[str, Any]:
        by_month = {"panel_by_month": [month.as_dict() for month in months]} if months else {}
        return {**answer.as_dict(), **by_month}

    show(
        options,
        document,
        lambda: "\n".join(
            [
                in_words(answer, verbose=options.verbose),
                *(_month_lines(months, question) if months else []),
            ]
        ),
    )
    return SAYS_NO if options.check and not answer.holds.holds else ANSWERED


def in_words(answer: StorageAnswer, *, verbose: bool = True) -> str:
    """Return the answer as text for a terminal; `verbose` lists every assumption."""
    question, held, longest = answer.question, answer.holds, answer.longest
    caution = f"{say(FROZEN_CAUTION)[:1].lower()}{say(FROZEN_CAUTION)[1:]}"
    frozen = any("frozen battery" in warning for warning in answer.warnings)  # says it already
    lines = [
        say(answer.sentence),
        "",
        _row(
            message("risk after {days} days", days=question.days),
            message(
                "{percent:.1f} % ± {error:.1f} %",
                percent=100 * held.risk,
                error=100 * held.risk_error,
            ),
        ),
        _row("", WHEN_WORDS[question.when]),
        _row(
            message("risk stays within {percent:g} % for", percent=100 * question.risk),
            longest.in_words,
        ),
    ]
    if longest.recharge_by is not None:
        lines.append(_row(message("  so recharge by"), longest.recharge_by.isoformat()))
    lines += [
        _row(
            message("first no-start at any hour, 8 in 10 cases"),
            range_words(longest.days_to_no_start, longest.horizon_days),
        ),
        "",
        *_remedy_lines(answer.remedies),
        "",
        say("What one value alone would have to be for {days} days", days=question.days),
        *[f"  {say(solved.label)}: {say(solved.in_words)}" for solved in answer.solved],
    ]
    for solved in answer.for_ever:
        ever = message("for ever: {what}", what=solved.label)
        lines.append(f"  {say(ever)}: {say(solved.in_words)}")
    if answer.small_panel is not None:
        lines += ["", f"  {say(answer.small_panel.in_words)}"]
    return "\n".join(
        [
            *lines,
            *warning_lines(answer.warnings if frozen else [*answer.warnings, caution]),
            *assumption_lines(answer.case, verbose=verbose),
        ]
    )


def _row(label: str, text: str) -> str:
    return row(label, text, _LABEL_WIDTH - 1)


def _month_lines(months: tuple[MonthPanel, ...], question: StandQuestion) -> list[str]:
    """Return sunshine and panels month by month."""
    lines = [
        "",
        say(
            "Solar panel for {days} days from the first of each month, {placed}",
            days=question.days,
            placed=placed_words(question.scenario),
        ),
        f"  {'':<12}{say('sun hours/day'):>14}{say('to replace the draw'):>22}"
        f"{say('to hold the stand'):>20}",
    ]
    for one in months:
        replacing = (
            say("no sun") if one.sun_h == 0.0 else say("{watts:.0f} W", watts=one.replacing_w)
        )
        needed = one.needed
        holding = "" if needed is None else say("none is enough")
        if needed is not None and needed.value is not None:
            enough = needed.status == ANYTHING
            holding = say("none needed") if enough else say(shown(needed.value, "W"))
        sun = say("{hours:.2f}", hours=one.sun_h)
        lines.append(f"  {say(MONTHS[one.month - 1]):<12}{sun:>14}{replacing:>22}{holding:>20}")
    return lines


def _remedy_lines(found: Remedies) -> list[str]:
    """Return the ways that hold, cheapest first, then those that do not by themselves."""
    ways = found.ways
    others = [way for way in ways if not way.holds]
    order = _ordered_by(found)
    lines = [say("What would make it hold, by {order} (worst day until then)", order=order)]
    if len(others) == len(ways):
        lines.append("  " + say(NONE_IS_ENOUGH))
    for way in ways:
        if way.holds:
            lines.append(f"  {say(way.what)}{_price(way)}")
            lines += wrapped(outcome_words(way, found.horizon_days), " " * 6, " " * 6)
    if others:
        lines += ["", say(NOT_ALONE, number=len(others))]
    for way in others:
        told = say("{way}: {risk}", way=way.what, risk=risk_words(way.risk))
        lines += wrapped(f"{told}{_price(way)}", "  ", "    ")
    return lines


def _price(way: Remedy) -> str:
    return "" if way.price is None else say(" (price {price:g})", price=way.price)


def _ordered_by(found: Remedies) -> Message:
    priced = any(remedy.price is not None for remedy in found.single)
    return message("your prices, the rest by effort") if priced else message("effort")
