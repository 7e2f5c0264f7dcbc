"""The customer's sheet as a PDF of exactly one page, black on white (extra `pdf`)."""

import logging
from typing import Any, Final

from drainsim.answers.storage import StorageAnswer
from drainsim.errors import DrainsimError
from drainsim.sheets.fonts import FontPair, find_fonts
from drainsim.sheets.storage_chart import HEIGHT, WIDTH, drawing
from drainsim.sheets.storage_words import SheetOptions, SheetWords, sheet_words

_MARGIN_MM: Final = 14.0
_POINT_MM: Final = 0.3528
_LARGEST_PT: Final = 9.6
_SMALLEST_PT: Final = 5.5
_FAMILY: Final = "sheet"
# Without a font file only Latin-1 letters can be set: the sheet's own others, spelled with them.
_PLAIN: Final = str.maketrans({"…": "...", "–": "-", "\N{NO-BREAK SPACE}": " ", "•": "-"})


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
    try:
        import fpdf  # noqa: F401  (only this needs it)
    except ImportError:
        raise DrainsimError(
            "a PDF needs the extra: pip install 'drainsim[pdf]'; or write the sheet as .html and "
            "print it from a browser"
        ) from None
    size_pt = _LARGEST_PT
    while size_pt >= _SMALLEST_PT:
        page = _Page(words, fonts, size_pt)
        try:
            page.draw()
            if page.used <= 1.0:
                return page.output()
        finally:
            page.close()
        # Fewer lines and lower ones: the height goes with the square of the letters.
        size_pt *= min(max(page.used**-0.5, 0.9), 0.99)
    raise DrainsimError("the sheet does not fit on one page; shorten company or contact")


class _Page:
    """One attempt at the page, drawn from top to bottom at a letter size."""

    def __init__(self, words: SheetWords, fonts: FontPair | None, size_pt: float) -> None:
        from fpdf import FPDF

        logging.getLogger("fontTools.subset").setLevel(logging.ERROR)
        self.words, self.size_pt, self.plain = words, size_pt, fonts is None
        self.pdf = FPDF(format=words.paper.lower(), unit="mm")
        self.pdf.set_auto_page_break(False)
        self.pdf.set_margin(_MARGIN_MM)
        self.pdf.set_title(self._text(words.title))
        self.pdf.set_lang(words.language)
        self.pdf.set_producer("drainsim")
        if fonts is None:
            self.family = "helvetica"
        else:
            self.family = _FAMILY
            self.pdf.add_font(_FAMILY, "", str(fonts.regular))
            self.pdf.add_font(_FAMILY, "B", str(fonts.bold))
        self.width = self.pdf.epw

    @property
    def used(self) -> float:
        """The share of the room between the margins that is taken; above 1 it does not fit."""
        return float((self.pdf.get_y() - _MARGIN_MM) / (self.pdf.h - 1.8 * _MARGIN_MM))

    def close(self) -> None:
        """Let go of the font files."""
        for font in self.pdf.fonts.values():
            file: Any = getattr(font, "ttfont", None)
            if file is not None:
                file.close()

    def output(self) -> bytes:
        """Return the file."""
        return bytes(self.pdf.output())

    def _text(self, text: str) -> str:
        return text.translate(_PLAIN) if self.plain else text

    def _refuse_missing_letters(self) -> None:
        """Rather say it than print boxes where a name's letters should be."""
        for name, text in (("company", self.words.company), ("contact", self.words.contact)):
            if self.plain:
                missing = [letter for letter in text if ord(letter) > 255]
            else:
                font: Any = self.pdf.fonts[_FAMILY]
                glyphs = font.cmap
                missing = [c for c in text if not c.isspace() and ord(c) not in glyphs]
            if missing:
                shown = "".join(dict.fromkeys(missing))[:20]
                raise DrainsimError(
                    f"{name}: the font for PDF files has no letters {shown!r}; write the sheet as "
                    ".html and print it from a browser"
                )

    # --- blocks -------------------------------------------------------------------------------

    def draw(self) -> None:
        """Draw everything; see `used` for whether it fitted.

        Raises
        ------
        DrainsimError
            If a name has letters the font lacks.
        """
        words, size = self.words, self.size_pt
        self._refuse_missing_letters()
        self.pdf.add_page()
        self._header()
        self._block(words.question)
        self._block(words.large, size=3.2 * size, bold=True, gap=0.1)
        self._block(words.answer, size=1.25 * size, gap=0.3)
        for text in words.ranges:
            self._block(text, bold=True)
        self._mind()
        self._title(words.chart_title)
        self._chart()
        self._ways()
        self._columns()
        self._title(words.assumptions_title)
        self._bullets(words.assumptions, self.pdf.l_margin, self.width)
        self._footer()

    def _line_mm(self, size: float) -> float:
        return size * _POINT_MM * 1.28

    def _font(self, size: float, *, bold: bool = False) -> None:
        self.pdf.set_font(self.family, "B" if bold else "", size)

    def _block(
        self,
        text: str,
        *,
        size: float | None = None,
        bold: bool = False,
        gap: float = 0.0,
        x: float | None = None,
        width: float | None = None,
        align: str = "L",
    ) -> None:
        """Set a paragraph; `gap` lines of space follow."""
        size = self.size_pt if size is None else size
        self._font(size, bold=bold)
        self.pdf.set_x(self.pdf.l_margin if x is None else x)
        self.pdf.multi_cell(
            self.width if width is None else width,
            self._line_mm(size),
            self._text(text),
            align=align,
            new_x="LMARGIN",
            new_y="NEXT",
        )
        self.pdf.set_y(self.pdf.get_y() + gap * self._line_mm(size))

    def _title(self, text: str) -> None:
        self.pdf.set_y(self.pdf.get_y() + 0.45 * self._line_mm(self.size_pt))
        self._block(text, size=1.05 * self.size_pt, bold=True, gap=0.1)

    def _rule(self, width_mm: float) -> None:
        self.pdf.set_draw_color(0)
        self.pdf.set_line_width(width_mm)
        y = self.pdf.get_y()
        self.pdf.line(self.pdf.l_margin, y, self.pdf.l_margin + self.width, y)
        self.pdf.set_y(y + 1.0)

    def _header(self) -> None:
        """Set title on the left, company and contact on the right, of any length and direction."""
        pdf, top = self.pdf, self.pdf.get_y()
        self._block(self.words.title, size=1.5 * self.size_pt, bold=True, width=0.45 * self.width)
        left_end = pdf.get_y()
        pdf.set_y(top)
        if not self.plain:
            pdf.set_text_shaping(True)  # joins Arabic letters and orders right-to-left text
        x, width = pdf.l_margin + 0.47 * self.width, 0.53 * self.width
        if self.words.company:
            self._block(self.words.company, bold=True, align="R", x=x, width=width)
        if self.words.contact:
            size = 0.9 * self.size_pt
            self._block(self.words.contact, size=size, align="R", x=x, width=width)
        pdf.set_text_shaping(False)
        pdf.set_y(max(left_end, pdf.get_y()) + 1.0)
        self._rule(0.5)

    def _mind(self) -> None:
        if not self.words.mind:
            return
        pdf = self.pdf
        pdf.set_y(pdf.get_y() + 1.2)
        top = pdf.get_y()
        pdf.set_y(top + 0.8)
        for text in self.words.mind:
            self._block(text, x=pdf.l_margin + 2.0, width=self.width - 4.0)
        pdf.set_y(pdf.get_y() + 0.8)
        pdf.set_line_width(0.4)
        pdf.rect(pdf.l_margin, top, self.width, pdf.get_y() - top)

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
            self._font(word.size * scale / _POINT_MM)
            text = self._text(word.text)
            back = {"start": 0.0, "middle": 0.5, "end": 1.0}[word.anchor]
            x = left + word.x * scale - back * pdf.get_string_width(text)
            pdf.text(x, top + word.y * scale, text)
        pdf.set_y(top + HEIGHT * scale + 0.5)

    def _ways(self) -> None:
        words, pdf = self.words, self.pdf
        if words.ways_heading is None:
            return
        self._title(words.ways_title)
        heading, line = words.ways_heading, self._line_mm(self.size_pt)
        columns = [(0.0, 0.44), (0.45, 0.13), (0.59, 0.12), (0.72, 0.28)]
        for number, way in enumerate((heading, *words.ways)):
            top, bottom = pdf.get_y() + 0.3, pdf.get_y()
            cells = (way.what, way.days, way.risk, way.lost)
            for (begin, share), cell in zip(columns, cells, strict=True):
                pdf.set_y(top)
                self._block(
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
        pdf.set_y(pdf.get_y() + 0.45 * self._line_mm(self.size_pt))
        top, ends = pdf.get_y(), []
        for x, title, texts, bold_first in (
            (pdf.l_margin, words.before_title, words.before, False),
            (pdf.l_margin + half + gap, words.after_title, words.after, True),
        ):
            pdf.set_y(top)
            self._block(title, size=1.05 * self.size_pt, bold=True, x=x, width=half, gap=0.1)
            self._bullets(texts, x, half, bold_first=bold_first)
            ends.append(pdf.get_y())
        pdf.set_y(max(ends))

    def _bullets(
        self, texts: tuple[str, ...], x: float, width: float, *, bold_first: bool = False
    ) -> None:
        for number, text in enumerate(texts):
            y = self.pdf.get_y()
            self._font(self.size_pt)
            self.pdf.text(x + 0.8, y + self._line_mm(self.size_pt) * 0.75, self._text("•"))
            self._block(text, x=x + 3.0, width=width - 3.0, bold=bold_first and number == 0)

    def _footer(self) -> None:
        words = self.words
        self.pdf.set_y(self.pdf.get_y() + 1.2)
        self._rule(0.25)
        self._block(words.code_title, size=0.88 * self.size_pt)
        if words.code:
            self._block(words.code, size=0.88 * self.size_pt)
        self._block(words.footer, size=0.88 * self.size_pt)
