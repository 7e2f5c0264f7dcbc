"""Which language a list's headings are in: it says how its dates are written."""

from collections.abc import Sequence

from drainsim.files.fleet.heading_parts import split_heading
from drainsim.files.fleet.headings import heading_match
from drainsim.files.fleet.words import COLUMN_OF, HEADINGS, content


def language_of(headings: Sequence[str]) -> str:
    """Return the language that most headings are in; "" where none or two lead."""
    counts: dict[str, int] = {}
    for heading in headings:
        words = split_heading(heading)[0]
        column = COLUMN_OF.get(words) or (heading_match(heading).column or "")
        said = {lang for lang, phrases in HEADINGS.get(column, {}).items() if words in phrases}
        if not said and column:
            meant = content(words.split())
            said = {
                lang
                for lang, phrases in HEADINGS[column].items()
                if any(content(phrase.split()) == meant for phrase in phrases)
            }
        for lang in said if len(said) == 1 else ():
            counts[lang] = counts.get(lang, 0) + 1
    best = sorted(counts, key=lambda lang: -counts[lang])
    alone = len(best) == 1 or (len(best) > 1 and counts[best[0]] > counts[best[1]])
    return best[0] if alone else ""
