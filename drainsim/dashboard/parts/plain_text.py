"""Text of the answers, of a file or an address: shown in the visit's language, and as text only."""

import re
from typing import Final

import streamlit as st

from drainsim.language import Message, say, spoken

_DAY: Final = re.compile(r"(?<=\d\.) (?=[^\W\d_])")  # "2. Dez.": Markdown would begin a list
_UNIT: Final = re.compile(
    r"(?<=\d) (?=[%±]|(?:[mk]?[AVW]h?|°[CF]|mm²|m?ohm|h|min|s|V|l)\b)|(?<=±) "
)
_ZERO_WIDTH: Final = "&#8203;"


def said(text: object) -> str:
    """Return what an answer says in the language spoken now; any other text as it is."""
    return say(text) if isinstance(text, Message) else str(text)


def sentence(text: object) -> str:
    """Return text as `said`, beginning with a capital letter."""
    words = said(text)
    return f"{words[:1].upper()}{words[1:]}"


def in_english(note: str) -> None:
    """Say on a page of another language what stays in English there."""
    if spoken().code != "en":
        st.caption(note)


def glued(text: object) -> str:
    r"""Return text as `said`, in which no line ends between a number and its unit.

    Nor between a day and its month.

    Examples
    --------
    >>> glued("5 % by 17 Dec, 85 Ah").split(" ")
    ['5\xa0%', 'by', '17', 'Dec,', '85\xa0Ah']
    """
    return _UNIT.sub("\u00a0", _DAY.sub("\u00a0", said(text)))


def plain(text: object) -> str:
    """Return text as `said`, whose Markdown means nothing any more; a number keeps its unit.

    Every ASCII punctuation mark becomes an entity, and bare addresses are broken up: they
    would become links even as entities.

    Examples
    --------
    >>> plain("![x](http://h)").startswith("&#33;&#91;x")
    True
    """
    one_line = glued(" ".join(said(text).split()))
    shown = "".join(
        letter if letter.isalnum() or letter in " ,;%" or ord(letter) > 127 else f"&#{ord(letter)};"
        for letter in one_line
    )
    for found, broken in (
        ("&#58;&#47;&#47;", f"&#58;{_ZERO_WIDTH}&#47;&#47;"),
        ("www&#46;", f"www{_ZERO_WIDTH}&#46;"),
        ("&#64;", f"{_ZERO_WIDTH}&#64;{_ZERO_WIDTH}"),
    ):
        shown = shown.replace(found, broken)
    return shown
