"""The customer's sheet as one HTML file: no script, nothing fetched, prints on one page."""

from html import escape
from typing import Final

from drainsim.answers.storage.answer import StorageAnswer
from drainsim.sheets.html_page import name_in, page_begin
from drainsim.sheets.storage_chart import svg
from drainsim.sheets.storage_words import SheetOptions, SheetWords, sheet_words

_STYLE: Final = """
@page { size: PAPER; margin: 11mm 14mm; }
* { box-sizing: border-box; }
svg { width: 100%; height: auto; display: block; }
body { font: 10.2pt/1.32 "DejaVu Sans", "Liberation Sans", Arial, sans-serif; color: #000;
  background: #fff; max-width: 190mm; margin: 0 auto; padding: 4mm; overflow-wrap: break-word; }
@media print { body { padding: 0 1mm; max-width: none; font-size: 7.7pt; } svg { width: 82%; } }
header { display: flex; justify-content: space-between; gap: 8mm; border-bottom: 1.5pt solid #000;
  padding-bottom: 1.5mm; }
header h1 { font-size: 1.5em; margin: 0; flex: 0 0 auto; max-width: 50%; }
header p { margin: 0; text-align: end; font-size: .85em; min-width: 0; }
.large { font-size: 3.4em; font-weight: bold; line-height: 1.1; margin: 2.5mm 0 0; }
.answer { font-size: 1.25em; margin: 0 0 2mm; }
.ranges p { margin: .5mm 0; font-weight: bold; }
h2 { font-size: 1.05em; margin: 3mm 0 .8mm; }
svg text { fill: #000; }
table { border-collapse: collapse; width: 100%; }
th, td { text-align: start; vertical-align: top; border-bottom: .5pt solid #888;
  padding: .6mm 2mm .6mm 0; }
th { border-bottom: 1pt solid #000; }
th:first-child, td:first-child { width: 44%; }
td.number { white-space: nowrap; }
.two { display: grid; grid-template-columns: 1fr 1fr; gap: 6mm; }
ul { margin: 0; padding-inline-start: 4.5mm; }
.mind { border: 1.2pt solid #000; padding: 1.2mm 2mm; margin-top: 2mm; }
.mind p { margin: .4mm 0; }
.caution { font-weight: bold; }
footer { border-top: .7pt solid #000; margin-top: 2.5mm; padding-top: 1mm; font-size: .85em; }
footer p { margin: .3mm 0; }
code { font-family: "DejaVu Sans Mono", "Liberation Mono", monospace; font-size: .95em;
  word-break: break-all; }
"""


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
    body = [
        "<header>",
        f"<h1>{escape(words.title)}</h1>",
        f"<p>{name_in('strong', words.company)}<br>{name_in('span', words.contact)}</p>",
        "</header>",
        f"<p>{escape(words.question)}</p>",
        f'<p class="large">{escape(words.large)}</p>',
        f'<p class="answer">{escape(words.answer)}</p>',
        f'<div class="ranges">{_paragraphs(words.ranges)}</div>',
    ]
    if words.mind:
        body.append(f'<div class="mind">{_paragraphs(words.mind)}</div>')
    body += [f"<h2>{escape(words.chart_title)}</h2>", svg(words.chart)]
    body += _ways(words)
    caution, *others = words.after
    body += [
        '<div class="two"><div>',
        f"<h2>{escape(words.before_title)}</h2>{_list(words.before)}",
        "</div><div>",
        f"<h2>{escape(words.after_title)}</h2>",
        f'<ul><li class="caution">{escape(caution)}</li>',
        "".join(f"<li>{escape(text)}</li>" for text in others),
        "</ul></div></div>",
        f"<h2>{escape(words.assumptions_title)}</h2>{_list(words.assumptions)}",
        f"<footer><p>{escape(words.code_title)} <code>{escape(words.code)}</code></p>",
        f"<p>{escape(words.footer)}</p></footer>",
    ]
    style = _STYLE.replace("PAPER", words.paper)
    begin = page_begin(words.title, style, language=words.language)
    return begin + "\n".join(body) + "\n</body></html>\n"


def _paragraphs(texts: tuple[str, ...]) -> str:
    return "".join(f"<p>{escape(text)}</p>" for text in texts)


def _list(texts: tuple[str, ...]) -> str:
    return "<ul>" + "".join(f"<li>{escape(text)}</li>" for text in texts) + "</ul>"


def _ways(words: SheetWords) -> list[str]:
    """Return the table of ways, or nothing where none are needed."""
    heading = words.ways_heading
    if heading is None:
        return []
    cells = (heading.what, heading.days, heading.risk, heading.lost)
    rows = [
        f'<tr><td>{escape(way.what)}</td><td class="number">{escape(way.days)}</td>'
        f'<td class="number">{escape(way.risk)}</td><td>{escape(way.lost)}</td></tr>'
        for way in words.ways
    ]
    head = "".join(f'<th scope="col">{escape(cell)}</th>' for cell in cells)
    return [
        f"<h2>{escape(words.ways_title)}</h2>",
        f"<table><thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>",
    ]
