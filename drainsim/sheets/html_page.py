"""What every printable HTML page of ours has: no script, nothing fetched, names either way."""

from html import escape
from typing import Final

_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"


def page_begin(title: str, style: str, *, language: str = "en") -> str:
    """Return an HTML page up to its body; its own policy lets no script run."""
    return (
        f'<!doctype html>\n<html lang="{escape(language)}"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">'
        f"<title>{escape(title)}</title><style>{style}</style></head><body>\n"
    )


def name_in(tag: str, text: str) -> str:
    """Return a name in an element; a right-to-left one turns itself and nothing around it."""
    return f'<{tag}><bdi dir="auto">{escape(text)}</bdi></{tag}>'
