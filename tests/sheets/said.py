"""What a printed page says, and a language that marks every text it was asked for."""

import gettext
import html
import re
from collections import Counter
from functools import cache
from typing import Final

from drainsim.language import DOMAIN, Language
from tests.message_files import messages_in_use

# Letters no page has of itself, one for each of the alphabet's.
_MARKS: Final = {
    ord(letter): chr(0x1F130 + place) for place, letter in enumerate("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
} | {ord(letter): chr(0x24D0 + place) for place, letter in enumerate("abcdefghijklmnopqrstuvwxyz")}
_PLACE: Final = re.compile(r"(\{(?:[^{}]|\{[^}]*\})*\})")


@cache
def _known() -> frozenset[str]:
    """Return every form of every message a sheet can print."""
    return frozenset(
        form
        for message in messages_in_use(DOMAIN)
        for form in ((message,) if isinstance(message, str) else message)
    )


class _Marks(gettext.NullTranslations):
    def gettext(self, message: str) -> str:
        """Return a text of the catalogue with its letters marked, its places kept."""
        if message not in _known():
            return message
        parts = _PLACE.split(message)
        return "".join(
            part if place % 2 else part.translate(_MARKS) for place, part in enumerate(parts)
        )

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        """Return the marked form for a number."""
        return self.gettext(msgid1 if n == 1 else msgid2)


MARKED: Final = Language(code="en", messages=_Marks())


def text_of(page: str) -> str:
    """Return the text of an HTML page, without its style."""
    body = re.sub(r"<style>.*?</style>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", " ", body))


def unmarked(text: str, *own: str) -> set[str]:
    """Return the words of a page nobody could translate, what the user typed left out."""
    for typed in sorted(own, key=len, reverse=True):
        text = text.replace(typed, " ")
    return set(re.findall(r"[A-Za-z]{2,}", text))


def figures(text: str) -> Counter[str]:
    """Return the numbers of a text and how often each stands there."""
    return Counter(one.replace(",", ".") for one in re.findall(r"\d+(?:[.,]\d+)?", text))
