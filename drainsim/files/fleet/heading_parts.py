"""Parts of a heading: its words, what stands in brackets, units and forms of dates."""

import re
from typing import Final

from drainsim.files.fleet.choosing import ORDER_WORDS
from drainsim.files.fleet.words import FOREIGN, STANDARDS, UNIT_OF, plain

_BRACKETS: Final = re.compile(r"[(\[{<]\s*([^)\]}>]{0,40})\s*[)\]}>]")
_DATE_FORM: Final = re.compile(r"^([djtgmya]{1,4})[./ -]([djtgmya]{1,4})[./ -]([djtgmya]{1,4})$")


def split_heading(heading: str) -> tuple[str, list[str]]:
    """Return (plain words, what stands in brackets) of a heading.

    Examples
    --------
    >>> split_heading("Quiescent current (mA)"), split_heading("engine_litres")
    (('quiescent current', ['mA']), ('engine litres', []))
    """
    inside = [found.strip() for found in _BRACKETS.findall(heading)]
    return plain(_BRACKETS.sub(" ", heading)), [one for one in inside if one]


def is_unit(text: str) -> bool:
    """Say whether a text is a unit and nothing else, in brackets or not."""
    words = plain(text.replace("·", " ").replace(".", ""))
    known = UNIT_OF.keys() | FOREIGN | STANDARDS.keys()
    return words in known or (bool(words) and all(word in known for word in words.split()))


def date_form(text: str) -> str:
    """Return the order of a date's parts in a text like TT.MM.JJJJ; "" if it is none.

    Examples
    --------
    >>> date_form("TT.MM.JJJJ"), date_form("jj/mm/aaaa"), date_form("yyyy-mm-dd"), date_form("mA")
    ('dmy', 'dmy', 'ymd', '')
    """
    found = _DATE_FORM.match(text.strip().lower())
    if not found or any(len(set(part)) > 1 for part in found.groups()):
        return ""
    day_said = any(part[0] in "dtg" for part in found.groups())
    order = ""
    for part in found.groups():
        letter = part[0]
        if letter == "j":
            letter = "y" if day_said or len(part) == 4 else "d"
        order += {"t": "d", "g": "d", "a": "y"}.get(letter, letter)
    return order if order in ORDER_WORDS else ""
