"""The customer's sheet as a PDF of exactly one page, black on white (extra `pdf`)."""

from typing import Any, Final

from drainsim.answers.storage.answer import StorageAnswer
from drainsim.errors import DrainsimError
from drainsim.sheets.fonts import FontPair, find_fonts
from drainsim.sheets.pdf_page import POINT_MM, PdfPage
from drainsim.sheets.storage.storage_chart import HEIGHT, WIDTH, drawing
from drainsim.sheets.storage.storage_words import SheetOptions, SheetWords, sheet_words

_MARGIN_MM: Final = 14.0
_LARGEST_PT: Final = 9.6
_SMALLEST_PT: Final = 5.5


def storage_pdf(
    answer: StorageAnswer,
    options: SheetOptions | None = None,
    *,
    fonts: FontPair | None = None,
) -> bytes:
    """Return the sheet as a PDF file.

    Parameters
    ----------
    answer : StorageAnswer
    options : SheetOptions, optional
    fonts : FontPair, optional
        Found on the machine if left out.

    Raises
    ------
    DrainsimError
        If the extra is not installed, a name has letters the font lacks, or it does not fit.
    """
    return pdf_of(sheet_words(answer, options), fonts=fonts or find_fonts())


def pdf_of(words: SheetWords, *, fonts: FontPair | None) -> bytes:
    """Return the sheet's words as PDF, in the largest letters that fit on one page."""
    page = _Page(words, fonts, _LARGEST_PT)
    try:
        while page.size_pt >= _SMALLEST_PT:
            page.draw()
            if page.used <= 1.0:
                return page.output()
            # Fewer lines and lower ones: the height goes with the square of the letters.
            smaller = page.size_pt * min(max(page.used**-0.5, 0.9), 0.99)
            page = _Page(words, fonts, smaller, page.pdf.fonts)
    finally:
        page.close()
    raise DrainsimError("the sheet does not fit on one page; shorten company or contact")


class _Page(PdfPage):
    """One attempt at the page, drawn from top to bottom at a letter size."""

    def __init__(
        self, words: SheetWords, fonts: FontPair | None, size_pt: float, read: Any = None
    ) -> None:
        super().__init__(
            fonts,
            read=read,
            paper=words.paper,
            size_pt=size_pt,
            margin_mm=_MARGIN_MM,
            title=words.title,
            language=words.language,
        )
        self.words = words

    @property
    def used(self) -> float:
        """The share of the room between the margins that is taken; above 1 it does not fit."""
        return float((self.pdf.get_y() - _MARGIN_MM) / (self.pdf.h - 1.8 * _MARGIN_MM))

    def draw(self) -> None:
        """Draw everything; see `used` for whether it fitted.

        Raises
        ------
        DrainsimError
            If a name has letters the font lacks.
        """
        words, size = self.words, self.size_pt
        own = "".join((words.title, words.answer, *words.before, *words.after, *words.assumptions))
        named = {"company": words.company, "contact": words.contact}
        self.refuse_missing_letters({**named, "the sheet's own words": own})
        self.pdf.add_page()
        self.head(words.title, company=words.company, contact=words.contact)
        self.block(words.question)
        self.block(words.large, size=3.2 * size, bold=True, gap=0.1)
        self.block(words.answer, size=1.25 * size, gap=0.3)
        for text in words.ranges:
            self.block(text, bold=True)
        self._mind()
        self.title(words.chart_title)
        self._chart()
        self._ways()
        self._columns()
        self.title(words.assumptions_title)
        self._bullets(words.assumptions, self.pdf.l_margin, self.width)
        self._footer()

    def _mind(self) -> None:
        if self.words.mind:
            self.boxed(self.words.mind)

    def _chart(self) -> None:
        """Draw the chart's lines and words at the page's width."""
        pdf = self.pdf
        width = 0.86 * self.width
        scale, left, top = width / WIDTH, pdf.l_margin, pdf.get_y()
        what = drawing(self.words.chart)
        for stroke in what.strokes:
            pdf.set_draw_color(round(255 * stroke.grey))
            pdf.set_line_width(stroke.width * scale)
            if stroke.dash:
                pdf.set_dash_pattern(dash=stroke.dash[0] * scale, gap=stroke.dash[1] * scale)
            pdf.polyline([(left + x * scale, top + y * scale) for x, y in stroke.points])
            pdf.set_dash_pattern()
        pdf.set_draw_color(0)
        for word in what.words:
            self.font(word.size * scale / POINT_MM)
            text = self.text(word.text)
            back = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor]
            x = left + word.x * scale - back * pdf.get_string_width(text)
            pdf.text(x, top + word.y * scale, text)
        pdf.set_y(top + HEIGHT * scale + 0.5)

    def _ways(self) -> None:
        words, pdf = self.words, self.pdf
        if words.ways_heading is None:
            return
        self.title(words.ways_title)
        heading, line = words.ways_heading, self.line_mm(self.size_pt)
        columns = [(0.0, 0.44), (0.45, 0.13), (0.59, 0.12), (0.72, 0.28)]
        for number, way in enumerate((heading, *words.ways)):
            top, bottom = pdf.get_y() + 0.3, pdf.get_y()
            cells = (way.what, way.days, way.risk, way.lost)
            for (begin, share), cell in zip(columns, cells, strict=True):
                pdf.set_y(top)
                self.block(
                    cell,
                    x=pdf.l_margin + begin * self.width,
                    width=share * self.width,
                    bold=number == 0,
                )
                bottom = max(bottom, pdf.get_y())
            pdf.set_y(max(bottom, top + line) + 0.3)
            pdf.set_draw_color(0 if number == 0 else 130)
            pdf.set_line_width(0.3 if number == 0 else 0.15)
            pdf.line(pdf.l_margin, pdf.get_y(), pdf.l_margin + self.width, pdf.get_y())
        pdf.set_draw_color(0)

    def _columns(self) -> None:
        """Set what to do before beside what to do after; the first caution is bold."""
        words, pdf = self.words, self.pdf
        half, gap = 0.485 * self.width, 0.03 * self.width
        pdf.set_y(pdf.get_y() + 0.45 * self.line_mm(self.size_pt))
        top, ends = pdf.get_y(), []
        for x, title, texts, bold_first in (
            (pdf.l_margin, words.before_title, words.before, False),
            (pdf.l_margin + half + gap, words.after_title, words.after, True),
        ):
            pdf.set_y(top)
            self.block(title, size=1.05 * self.size_pt, bold=True, x=x, width=half, gap=0.1)
            self._bullets(texts, x, half, bold_first=bold_first)
            ends.append(pdf.get_y())
        pdf.set_y(max(ends))

    def _bullets(
        self, texts: tuple[str, ...], x: float, width: float, *, bold_first: bool = False
    ) -> None:
        for number, text in enumerate(texts):
            self.bullet(text, x, width, bold=bold_first and number == 0)

    def _footer(self) -> None:
        words = self.words
        self.pdf.set_y(self.pdf.get_y() + 1.2)
        self.rule(0.25)
        self.block(words.code_title, size=0.88 * self.size_pt)
        if words.code:
            self.block(words.code, size=0.88 * self.size_pt)
        self.block(words.footer, size=0.88 * self.size_pt)
