"""One language of the printed page: messages by gettext, numbers and dates as written there.

.mo files are committed so that a wheel needs no gettext tools; a test compares them with their
.po files.
"""

import datetime as dt
import gettext
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from drainsim.errors import OutOfRangeError

DOMAIN: Final = "drainsim"
LOCALE_FOLDER: Final = Path(__file__).resolve().parents[1] / "locale"
LANGUAGES: Final = {
    "en": "English",
    "de": "Deutsch",
    "fr": "Français",
    "es": "Español",
    "it": "Italiano",
    "nl": "Nederlands",
    "pl": "Polski",
}
_POINT: Final = frozenset({"en"})  # the others write a decimal comma
TEMPERATURE_UNITS: Final = ("C", "F")


def marked(message: str) -> str:
    """Return a message unchanged; marks it for the catalogue where it is translated later."""
    return message


MONTHS: Final = (
    marked("January"),
    marked("February"),
    marked("March"),
    marked("April"),
    marked("May"),
    marked("June"),
    marked("July"),
    marked("August"),
    marked("September"),
    marked("October"),
    marked("November"),
    marked("December"),
)


class _Figure(float):
    """A number that formats with the language's decimal sign."""

    decimal = "."

    def __format__(self, spec: str) -> str:
        return super().__format__(spec).replace(".", self.decimal)


class _CommaFigure(_Figure):
    decimal = ","


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """A language: its messages, its numbers, and the temperature unit asked for."""

    code: str
    messages: gettext.NullTranslations
    temperature_unit: str = "C"

    def __call__(self, message: str, /, **figures: float | str) -> str:
        """Return a message in this language with its figures filled in."""
        return self._filled(self.messages.gettext(message), figures)

    def many(self, one: str, several: str, /, number: int, **figures: float | str) -> str:
        """Return the message for a number, in the form this language has for it."""
        translated = self.messages.ngettext(one, several, number)
        return self._filled(translated, {"number": number, **figures})

    def _filled(self, translated: str, figures: Mapping[str, float | str]) -> str:
        kind = _Figure if self.code in _POINT else _CommaFigure
        shown = {
            name: value if isinstance(value, str) else kind(value)
            for name, value in figures.items()
        }
        return translated.format(**shown) if shown else translated

    def day(self, date: dt.date) -> str:
        """Return a date as written in this language."""
        return self(
            "{day:.0f} {month} {year}",
            day=date.day,
            month=self(MONTHS[date.month - 1]),
            year=str(date.year),
        )

    def temperature(self, temperature_c: float) -> str:
        """Return a temperature in the unit asked for, whole degrees."""
        fahrenheit = self.temperature_unit == "F"
        degrees = round(temperature_c * 1.8 + 32.0 if fahrenheit else temperature_c)
        return f"{degrees} °{self.temperature_unit}"

    def risk(self, risk: float) -> str:
        """Return a risk in whole per cent, unbreakable; "under 1 %" and "over 99 %" at the ends."""
        if risk < 0.01:
            words = self("under 1 %")
        elif risk > 0.99:
            words = self("over 99 %")
        else:
            words = self("{percent:.0f} %", percent=100.0 * risk)
        return words.replace(" ", "\N{NO-BREAK SPACE}")


def language(code: str, *, temperature_unit: str = "C") -> Language:
    """Return a language.

    Raises
    ------
    OutOfRangeError
        If there is no such language or temperature unit.

    Examples
    --------
    >>> language("de")("{watts:.1f} W", watts=2.5), language("de").day(dt.date(2026, 12, 1))
    ('2,5 W', '1. Dezember 2026')
    """
    if code not in LANGUAGES:
        raise OutOfRangeError(f"language {code!r} is not there; use one of {', '.join(LANGUAGES)}")
    if temperature_unit not in TEMPERATURE_UNITS:
        raise OutOfRangeError(f"temperature unit {temperature_unit!r}: use C or F")
    return Language(code=code, messages=_messages(code), temperature_unit=temperature_unit)


@cache
def _messages(code: str) -> gettext.NullTranslations:
    """Return the catalogue of a language; English is what the code is written in."""
    if code == "en":
        return gettext.NullTranslations()
    return gettext.translation(DOMAIN, LOCALE_FOLDER, languages=[code])
