"""The customer's sheet as one HTML file: no script, nothing fetched, prints on one page."""

from drainsim.answers.storage.answer import StorageAnswer
from drainsim.sheets.html_page import Markup, page
from drainsim.sheets.storage.storage_chart import svg
from drainsim.sheets.storage.storage_words import SheetOptions, SheetWords, sheet_words


def storage_html(answer: StorageAnswer, options: SheetOptions | None = None) -> str:
    """Return the sheet as a self-contained HTML document.

    Raises
    ------
    OutOfRangeError
        If an option cannot be used.
    """
    return html_of(sheet_words(answer, options))


def html_of(words: SheetWords) -> str:
    """Return the sheet's words as HTML; every text is escaped."""
    chart = Markup(svg(words.chart))
    return page(
        "storage.html", title=words.title, language=words.language, words=words, chart=chart
    )
