"""Languages: messages by gettext, numbers, dates and temperatures as written there.

Code is written in English. What an answer says is a `Message`: English text that remembers its
template and its figures, so that a window or a sheet can say it in another language later. Windows
print with `say`, in the language `speak` set for this thread of work; a customer's sheet holds the
`Language` it was asked for. Sheets exist in all `LANGUAGES`, windows in those with a catalogue of
`SCREENS`. .mo files are committed so that a wheel needs no gettext tools; a test compares them with
their .po files.

A Message inside an f-string is plain English: make it a figure of another. pandas makes it plain
text, answers and state hold Messages, and pages say them when they are drawn. JSON, keys,
headings of files, refusals, `--help` and quoted sources stay English; so does all else unless
`--lang` or `DRAINSIM_LANG` says otherwise, so that scripts do not change with a locale.
"""

import datetime as dt
import gettext
from collections.abc import Callable, Iterable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import Final, Self, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from drainsim.errors import OutOfRangeError
from drainsim.units import fahrenheit_from_celsius, whole_percent

DOMAIN: Final = "drainsim"  # sheets, and what answers say on them
SCREENS: Final = "screens"  # pages and command line
LOCALE_FOLDER: Final = Path(__file__).resolve().parent / "locale"
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


class Celsius(float):
    """A temperature among a message's figures; said with the unit asked for. [°C].

    Whole degrees where its place has no format; a format that ends in "-" leaves the unit out,
    for the first of two.
    """


_Amount = TypeVar("_Amount", float, NDArray[np.float64])
Said = float | str | dt.date  # what fills a place of a message


class Message(str):
    """English text that remembers how it was made; as text it is ordinary English.

    Examples
    --------
    >>> text = message("{watts:.1f} W", watts=2.5)
    >>> text, language("de")(text)
    ('2.5 W', '2,5 W')
    """

    __slots__ = ("figures", "several", "template")
    template: str
    several: str  # the form for more than one, empty where there is none
    figures: Mapping[str, Said]

    def __new__(cls, template: str, several: str, figures: Mapping[str, Said]) -> Self:
        """Make the English text and keep its parts."""
        kept = str.__str__(template)
        text = language("en").filled(
            several if several and figures["number"] != 1 else kept, figures
        )
        made = super().__new__(cls, text)
        made.template, made.several, made.figures = kept, several, figures
        return made

    def __reduce__(self) -> tuple[type[Self], tuple[str, str, Mapping[str, Said]]]:
        """Keep the parts in a pickle and a copy."""
        return type(self), (self.template, self.several, self.figures)


def message(template: str, /, **figures: Said) -> Message:
    """Return English text that every window can say in its own language.

    Parameters
    ----------
    template : str
        English, with places for figures as `str.format` has them; a literal, so that it is found.
    **figures : float, str, date, Celsius or Message
        What fills the places. Messages among them are translated too.
    """
    return Message(template, "", figures)


def counted_message(one: str, several: str, /, number: int, **figures: Said) -> Message:
    """Return a message for a number: `one` for 1, `several` otherwise; `{number}` is its place."""
    return Message(one, several, {"number": number, **figures})


def joined(separator: str, parts: Iterable[Said]) -> Message:
    """Return texts and figures joined by a separator; each is said in a window's language."""
    named = {f"part{place}": part for place, part in enumerate(parts)}
    places = (
        separator.replace("{", "{{").replace("}", "}}").join("{" + name + "}" for name in named)
    )
    return Message(places, "", named)


def risk_words(risk: float) -> Message:
    """Return a risk in whole per cent; the ends are never said to be sure.

    Examples
    --------
    >>> risk_words(0.0), risk_words(0.214), risk_words(1.0)
    ('under 1 %', '21 %', 'over 99 %')
    """
    if 0.01 <= risk <= 0.99:
        return message("{percent:.0f} %", percent=whole_percent(risk))
    return message("under 1 %" if risk < 0.01 else "over 99 %")


class _Figure(float):
    """A number that formats with the language's decimal sign and mark between thousands."""

    signs: Mapping[int, int] = {}

    def __format__(self, spec: str) -> str:
        whole = ".0f" if self.is_integer() else "g"
        return super().__format__(spec or whole).translate(self.signs)


class _CommaFigure(_Figure):
    signs = str.maketrans(".,", ",.")


@dataclass(frozen=True, slots=True)
class _Degrees:
    """A temperature in a language and its unit, ready for the format of its place."""

    spoken: "Language"
    celsius: float

    def __format__(self, spec: str) -> str:
        value = self.spoken.degrees(self.celsius)
        digits = spec.removesuffix("-")
        number = self.spoken.number(value if digits else round(value))
        return f"{number:{digits}}" + ("" if spec.endswith("-") else f" {self.spoken.degrees_unit}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Language:
    """A language: its messages, its numbers, and the temperature unit asked for."""

    code: str
    messages: gettext.NullTranslations
    temperature_unit: str = "C"

    def __call__(self, text: str, /, **figures: Said) -> str:
        """Return a text in this language with its figures filled in.

        A `Message` is said by its own template and figures; other text is the template.
        """
        if isinstance(text, Message):
            figures = {**text.figures, **figures}
            if text.several:
                return self._many(text.template, text.several, figures)
            text = text.template
        return self.filled(self.messages.gettext(text) if text else "", figures)

    def __reduce__(self) -> tuple[Callable[..., "Language"], tuple[str]]:
        """Keep what was asked for, not the catalogue: it is read where the language arrives."""
        return partial(language, temperature_unit=self.temperature_unit), (self.code,)

    def said(self, text: str) -> str:
        """Return a `Message` in this language; other text, a user's own, as it is."""
        return self(text) if isinstance(text, Message) else text

    def many(self, one: str, several: str, /, number: int, **figures: Said) -> str:
        """Return the message for a number, in the form this language has for it."""
        return self._many(one, several, {"number": number, **figures})

    def _many(self, one: str, several: str, figures: Mapping[str, Said]) -> str:
        number = cast("int", figures["number"])
        return self.filled(self.messages.ngettext(one, several, number), figures)

    def filled(self, template: str, figures: Mapping[str, Said]) -> str:
        """Return a template, already in this language, with its figures filled in."""
        return (
            template.format(**{k: self._shown(v) for k, v in figures.items()})
            if figures
            else template
        )

    def _shown(self, value: Said) -> object:
        if isinstance(value, str):
            return self.said(value)
        if isinstance(value, dt.date):
            return self.day(value)
        return _Degrees(self, value) if isinstance(value, Celsius) else self.number(value)

    def number(self, value: float) -> "_Figure":
        """Return a number that formats as written in this language."""
        return (_Figure if self.code in _POINT else _CommaFigure)(value)

    @property
    def separators(self) -> str:
        """The decimal sign and that between thousands."""
        return ".," if self.code in _POINT else ",."

    def day(self, date: dt.date) -> str:
        """Return a date as written in this language."""
        return self(
            "{day:.0f} {month} {year}",
            day=date.day,
            month=self(MONTHS[date.month - 1]),
            year=str(date.year),
        )

    @property
    def degrees_unit(self) -> str:
        """The temperature unit asked for, as written."""
        return f"°{self.temperature_unit}"

    def degrees(self, temperature_c: _Amount) -> _Amount:
        """Return a temperature, or an array of them, in the unit asked for."""
        return (
            fahrenheit_from_celsius(temperature_c)
            if self.temperature_unit == "F"
            else temperature_c
        )

    def temperature(self, temperature_c: float) -> str:
        """Return a temperature in the unit asked for, whole degrees."""
        return f"{_Degrees(self, temperature_c)}"

    def risk(self, risk: float) -> str:
        """Return a risk in whole per cent, unbreakable; see `risk_words`."""
        return self(risk_words(risk)).replace(" ", "\N{NO-BREAK SPACE}")


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
    """Return the catalogues of a language; English is what the code is written in."""
    if code == "en":
        return gettext.NullTranslations()
    found = gettext.translation(DOMAIN, LOCALE_FOLDER, languages=[code])
    found.add_fallback(gettext.translation(SCREENS, LOCALE_FOLDER, languages=[code], fallback=True))
    return found


@cache
def screen_languages() -> Mapping[str, str]:
    """Return the languages the windows speak, by code: those with a catalogue of screens."""
    return {
        code: name
        for code, name in LANGUAGES.items()
        if code == "en" or gettext.find(SCREENS, LOCALE_FOLDER, languages=[code])
    }


_SPOKEN: ContextVar[Language | None] = ContextVar("spoken", default=None)


def speak(code: str, *, temperature_unit: str = "C") -> None:
    """Set the language that `say` uses from here on, in this thread of work."""
    _SPOKEN.set(language(code, temperature_unit=temperature_unit))


def spoken() -> Language:
    """Return the language that windows speak now; English until `speak` says otherwise."""
    return _SPOKEN.get() or language("en")


def say(text: str, /, **figures: Said) -> str:
    """Return a text in the language spoken now, its figures filled in."""
    return spoken()(text, **figures)


def say_many(one: str, several: str, /, number: int, **figures: Said) -> str:
    """Return the text for a number in the language spoken now."""
    return spoken().many(one, several, number, **figures)
