"""What every PDF of ours has: fonts, paragraphs, the head with a name of any length and direction.

Made by fpdf2 (extra `pdf`); nothing of it is imported before a PDF is asked for.

Sheets are HTML first (a browser prints them). PDF by fpdf2 (extra `pdf`, with uharfbuzz for
right-to-left names): pure wheels and a fraction of a second, where a headless browser is 300 MB
that customers' machines may forbid; reportlab would be more code, weasyprint needs system
libraries.
"""

import logging
from typing import Any, Final

from drainsim.errors import DrainsimError
from drainsim.sheets.fonts import FontPair

POINT_MM: Final = 0.3528
_FAMILY: Final = "sheet"
# Without a font file only Latin-1 letters can be set: the sheets' own others, spelled with them.
_PLAIN: Final = str.maketrans({"…": "...", "–": "-", "\N{NO-BREAK SPACE}": " ", "•": "-", "−": "-"})


class PdfPage:
    """A PDF in the making, written from top to bottom; sizes in points, places in mm.

    Parameters
    ----------
    fonts : FontPair, optional
        None sets the built-in font, Western letters only.
    paper : str
        "A4" or "Letter".
    size_pt : float
        Letter size of a plain paragraph.
    margin_mm : float
    title, language : str
        Of the document.
    landscape : bool
    read : dict, optional
        Fonts of an earlier attempt at the page, for reading them takes half of its time.

    Raises
    ------
    DrainsimError
        If the extra is not installed.
    """

    def __init__(
        self,
        fonts: FontPair | None,
        *,
        paper: str,
        size_pt: float,
        margin_mm: float,
        title: str,
        language: str,
        landscape: bool = False,
        read: Any = None,
    ) -> None:
        try:
            import uharfbuzz  # noqa: F401  (fpdf shapes names with it)
            from fpdf import FPDF
        except ImportError:
            raise DrainsimError(
                "a PDF needs the extra: pip install 'drainsim[pdf]'; or write it as .html and "
                "print it from a browser"
            ) from None
        logging.getLogger("fontTools.subset").setLevel(logging.ERROR)
        self.size_pt, self.plain = size_pt, fonts is None
        self.pdf = FPDF(
            orientation="landscape" if landscape else "portrait", format=paper.lower(), unit="mm"
        )
        self.pdf.set_auto_page_break(False)
        self.pdf.set_margin(margin_mm)
        self.pdf.set_title(self.text(title))
        self.pdf.set_lang(language)
        self.pdf.set_producer("drainsim")
        self.family = "helvetica" if fonts is None else _FAMILY
        if read is not None:
            self.pdf.fonts.update(read)
        elif fonts is not None:
            self.pdf.add_font(_FAMILY, "", str(fonts.regular))
            self.pdf.add_font(_FAMILY, "B", str(fonts.bold))
        self.width = self.pdf.epw

    def close(self) -> None:
        """Let go of the font files."""
        for font in self.pdf.fonts.values():
            file: Any = getattr(font, "ttfont", None)
            if file is not None:
                file.close()

    def output(self) -> bytes:
        """Return the file."""
        return bytes(self.pdf.output())

    def text(self, text: str) -> str:
        """Return text with letters the built-in font has, where that one is used."""
        return text.translate(_PLAIN) if self.plain else text

    def refuse_missing_letters(self, names: dict[str, str]) -> None:
        """Rather say it than print boxes where letters of a name (what it is → text) should be.

        Raises
        ------
        DrainsimError
            If a name has letters the font lacks.
        """
        for what, text in names.items():
            if self.plain:
                missing = [letter for letter in self.text(text) if ord(letter) > 255]
            else:
                font: Any = self.pdf.fonts[_FAMILY]
                glyphs = font.cmap
                missing = [c for c in text if not c.isspace() and ord(c) not in glyphs]
            if missing:
                shown = "".join(dict.fromkeys(missing))[:20]
                raise DrainsimError(
                    f"{what}: the font for PDF files has no letters {shown!r}; write it as "
                    ".html and print it from a browser"
                )

    def line_mm(self, size: float) -> float:
        """Return the height of a line."""
        return size * POINT_MM * 1.28

    def font(self, size: float, *, bold: bool = False) -> None:
        """Choose the letters of what follows."""
        self.pdf.set_font(self.family, "B" if bold else "", size)

    def block(
        self,
        text: str,
        *,
        size: float | None = None,
        bold: bool = False,
        gap: float = 0.0,
        x: float | None = None,
        width: float | None = None,
        align: str = "L",
        foreign: bool = False,
    ) -> None:
        """Set a paragraph; `gap` lines of space follow.

        `foreign` text may be written in any direction: its letters are joined and ordered.
        """
        size = self.size_pt if size is None else size
        self.font(size, bold=bold)
        if foreign and not self.plain:
            self.pdf.set_text_shaping(True)
        self.pdf.set_x(self.pdf.l_margin if x is None else x)
        self.pdf.multi_cell(
            self.width if width is None else width,
            self.line_mm(size),
            self.text(text),
            align=align,
            new_x="LMARGIN",
            new_y="NEXT",
        )
        self.pdf.set_text_shaping(False)
        self.pdf.set_y(self.pdf.get_y() + gap * self.line_mm(size))

    def title(self, text: str) -> None:
        """Set a heading with a little space above."""
        self.pdf.set_y(self.pdf.get_y() + 0.45 * self.line_mm(self.size_pt))
        self.block(text, size=1.05 * self.size_pt, bold=True, gap=0.1)

    def rule(self, width_mm: float) -> None:
        """Draw a line across the page."""
        self.pdf.set_draw_color(0)
        self.pdf.set_line_width(width_mm)
        y = self.pdf.get_y()
        self.pdf.line(self.pdf.l_margin, y, self.pdf.l_margin + self.width, y)
        self.pdf.set_y(y + 1.0)

    def head(self, title: str, *, company: str, contact: str) -> None:
        """Set the title on the left, company and contact on the right."""
        pdf, top = self.pdf, self.pdf.get_y()
        self.block(title, size=1.5 * self.size_pt, bold=True, width=0.45 * self.width)
        left_end = pdf.get_y()
        pdf.set_y(top)
        x, width = pdf.l_margin + 0.47 * self.width, 0.53 * self.width
        if company:
            self.block(company, bold=True, align="R", x=x, width=width, foreign=True)
        if contact:
            size = 0.9 * self.size_pt
            self.block(contact, size=size, align="R", x=x, width=width, foreign=True)
        pdf.set_y(max(left_end, pdf.get_y()) + 1.0)
        self.rule(0.5)

    def boxed(self, texts: tuple[str, ...], *, bold: bool = False) -> None:
        """Set paragraphs in a frame."""
        pdf = self.pdf
        pdf.set_y(pdf.get_y() + 1.2)
        top = pdf.get_y()
        pdf.set_y(top + 0.8)
        for text in texts:
            self.block(text, x=pdf.l_margin + 2.0, width=self.width - 4.0, bold=bold)
        pdf.set_y(pdf.get_y() + 0.8)
        pdf.set_draw_color(0)
        pdf.set_line_width(0.4)
        pdf.rect(pdf.l_margin, top, self.width, pdf.get_y() - top)

    def bullet(
        self, text: str, x: float, width: float, *, bold: bool = False, foreign: bool = False
    ) -> None:
        """Set one item of a list."""
        y = self.pdf.get_y()
        self.font(self.size_pt)
        self.pdf.text(x + 0.8, y + self.line_mm(self.size_pt) * 0.75, self.text("•"))
        self.block(text, x=x + 3.0, width=width - 3.0, bold=bold, foreign=foreign)
