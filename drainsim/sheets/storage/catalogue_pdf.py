"""The catalogue as a PDF across the page, on as many pages as it takes (extra `pdf`)."""

from collections.abc import Iterator
from typing import Any, Final

from drainsim.answers.storage.catalogue import Catalogue, catalogue_title, days_shown
from drainsim.errors import OutOfRangeError, one_line
from drainsim.sheets.fonts import FontPair, find_fonts
from drainsim.sheets.pdf_page import PdfPage
from drainsim.sheets.storage.catalogue_sheet import (
    BANDS,
    CAUTIONS,
    Band,
    band_of,
    calculated_words,
    lines_below,
)
from drainsim.sheets.storage.storage_words import LONGEST_NAME, SheetOptions

_MARGIN_MM: Final = 13.0
_LETTERS_PT: Final = 9.0
_UNIT_PT: Final = 10.4
_CELL_PT: Final = 10.0  # the figures themselves
_FOOT_MM: Final = 8.0
_ROW_MM: Final = 6.4
_PAD_MM: Final = 1.1
_NARROWEST_MM: Final = 11.0
_BATTERY_MM: Final = 17.0
_WIDEST_MM: Final = 27.0


def catalogue_pdf(
    table: Catalogue,
    options: SheetOptions | None = None,
    *,
    fonts: FontPair | None = None,
) -> bytes:
    """Return the table as a PDF file.

    Parameters
    ----------
    table : Catalogue
    options : SheetOptions, optional
        Language, paper, company, contact and date.
    fonts : FontPair, optional
        Found on the machine if left out.

    Raises
    ------
    DrainsimError
        If the extra is not installed, or a name is too long or has letters the font lacks.
    """
    return pdf_of_catalogue(table, options or SheetOptions(), fonts=fonts or find_fonts())


def pdf_of_catalogue(table: Catalogue, options: SheetOptions, *, fonts: FontPair | None) -> bytes:
    """Return the table as PDF with a font, or with the built-in one."""
    for unit in table.question.units:
        if len(unit) > LONGEST_NAME:
            raise OutOfRangeError(
                f"unit {unit!r}: {len(unit)} characters; at most {LONGEST_NAME} fit on the sheet"
            )
    page = _Pages(table, options, fonts)
    try:
        page.draw()
        return page.output()
    finally:
        page.close()


class _Pages(PdfPage):
    """The pages: a block for each unit (and each part of the climates, where many)."""

    def __init__(self, table: Catalogue, options: SheetOptions, fonts: FontPair | None) -> None:
        super().__init__(
            fonts,
            paper=options.paper,
            size_pt=_LETTERS_PT,
            margin_mm=_MARGIN_MM,
            title=options.say(catalogue_title(table)),
            language=options.language,
            landscape=True,
        )
        question, say = table.question, options.say
        self.table, self.options, self.say = table, options, say
        self.units = {unit: one_line(say.said(question.unit_name(unit))) for unit in question.units}
        self.climates = {key: say.said(question.climate_name(key)) for key in question.climates}
        self.vehicles = {key: say.said(question.vehicle_name(key)) for key in question.vehicles}
        self.seasons = {season: say(season) for season in question.seasons}
        self.row_label, self.days_label = say("vehicle class"), say("[days]")
        self.cautions = tuple(map(say, CAUTIONS))
        self.lines = tuple(map(one_line, lines_below(table, options)))
        self.label_mm = 0.0  # measured once all letters are known to be there

    def draw(self) -> None:
        """Draw everything.

        Raises
        ------
        DrainsimError
            If a name has letters the font lacks.
        """
        options = self.options
        self.refuse_missing_letters(
            {"company": options.company, "contact": options.contact}
            | {
                f"unit {number}": name
                for number, name in enumerate(map(one_line, self.units), start=1)
            }
            | {f"row {name}": name for name in self.table.question.own_vehicles}
            | {f"climate {name}": name for name in self.table.question.own_climates}
            | {
                "the sheet's own words": "".join(
                    (*self.seasons.values(), *self.cautions, *self.lines)
                )
            }
        )
        self.font(_LETTERS_PT)
        names = (*self.vehicles.values(), self.row_label)
        widths = [self.pdf.get_string_width(self.text(name)) for name in names]
        self.label_mm = min(max(widths) + 2 * _PAD_MM, 0.3 * self.width)
        self.pdf.add_page()
        title = self.say(catalogue_title(self.table))
        self.head(title, company=options.company, contact=options.contact)
        self._key()
        for unit in self.units:
            for climates in self._parts():
                self._block_of(unit, climates)
        self._assumptions()
        self._feet()

    # --- room ---------------------------------------------------------------------------------

    @property
    def _left_mm(self) -> float:
        """Room left on the page above its foot."""
        return float(self.pdf.h - _MARGIN_MM - _FOOT_MM - self.pdf.get_y())

    def _fits(self, text: str, size: float, width: float, *, bold: bool = False) -> float:
        """Return the height a paragraph takes."""
        self.font(size, bold=bold)
        if not self.plain:
            self.pdf.set_text_shaping(True)
        height: Any = self.pdf.multi_cell(
            width, self.line_mm(size), self.text(text), dry_run=True, output="HEIGHT"
        )
        self.pdf.set_text_shaping(False)
        return float(height)

    def _season_mm(self, climate: str) -> float:
        """Return the least width of a season's column of a climate: no word of it is broken."""
        question = self.table.question
        self.font(_LETTERS_PT, bold=True)
        words = self.climates[climate].split()
        name = max(self.pdf.get_string_width(word) for word in words) + 2 * _PAD_MM
        self.font(_LETTERS_PT)
        seasons = max(
            self.pdf.get_string_width(word) for word in (*self.seasons.values(), self.days_label)
        )
        each = max(seasons + 2 * _PAD_MM, _NARROWEST_MM)
        return float(max(each, (name + 2.0) / len(question.seasons)))

    def _parts(self) -> Iterator[tuple[str, ...]]:
        """Yield the climates that fit side by side; as even as can be, over as few parts."""
        room = self.width - self.label_mm - _BATTERY_MM
        climates = self.table.question.climates
        widest = max(self._season_mm(climate) for climate in climates)
        most = max(int(room / (widest * len(self.table.question.seasons))), 1)
        parts = -(-len(climates) // most)
        size = -(-len(climates) // parts)
        for begin in range(0, len(climates), size):
            yield climates[begin : begin + size]

    # --- parts of the page ----------------------------------------------------------------------

    def _key(self) -> None:
        """Say what the shades mean."""
        pdf, x, y = self.pdf, self.pdf.l_margin, self.pdf.get_y() + 0.5
        self.font(_LETTERS_PT)
        words = self.text(self.say("Figures are days parked. Shade:"))
        pdf.text(x, y + 0.72 * _ROW_MM, words)
        x += pdf.get_string_width(words) + 3.0
        for band in BANDS:
            shown = self.text(self.say(band.words))
            width = pdf.get_string_width(shown) + 6.0
            self._shaded(x, y + 0.4, width, _ROW_MM - 0.8, band)
            pdf.text(x + 3.0, y + 0.72 * _ROW_MM, shown)
            x += width + 2.0
        pdf.set_y(y + _ROW_MM)

    def _shaded(self, x: float, y: float, width: float, height: float, band: Band | None) -> None:
        """Draw a cell's ground and frame; None is a heading's."""
        self.pdf.set_fill_color(*(band.red_green_blue if band else (255, 255, 255)))
        self.pdf.set_draw_color(110)
        self.pdf.set_line_width(0.15)
        self.pdf.rect(x, y, width, height, style="DF")

    def _block_of(self, unit: str, climates: tuple[str, ...]) -> None:
        """Set one unit's table; where it goes on overleaf, name and heading are set again."""
        question = self.table.question
        needed = self._heading_mm(unit, climates) + _ROW_MM * len(question.vehicles)
        whole_page = self.pdf.h - 2 * _MARGIN_MM - _FOOT_MM
        if needed > self._left_mm and (needed <= whole_page or self._left_mm < 0.4 * whole_page):
            self.pdf.add_page()
        self._heading(unit, climates, again=False)
        for vehicle in question.vehicles:
            if self._left_mm < _ROW_MM:
                self.pdf.add_page()
                self._heading(unit, climates, again=True)
            self._row(unit, vehicle, climates)
        self.pdf.set_y(self.pdf.get_y() + 2.0)

    def _unit(self, unit: str, *, again: bool) -> None:
        """Set the unit's name as a paragraph of its own, so that it may run either way."""
        top, label = self.pdf.get_y(), self.say("Unit (continued):" if again else "Unit:")
        self.block(label, size=_UNIT_PT, bold=True)
        self.pdf.set_y(top)
        x = self.pdf.l_margin + self._unit_label_mm(label)
        width = self.width - self._unit_label_mm(label)
        name = self.units[unit]
        self.block(name, size=_UNIT_PT, bold=True, gap=0.15, x=x, width=width, foreign=True)

    def _unit_label_mm(self, label: str) -> float:
        self.font(_UNIT_PT, bold=True)
        return float(self.pdf.get_string_width(label)) + 2.0

    def _names_mm(self, climates: tuple[str, ...]) -> float:
        """Return the height of the row of climates."""
        wide = self._column_mm(climates) * len(self.table.question.seasons)
        called = (self.climates[climate] for climate in climates)
        heights = [self._fits(name, _LETTERS_PT, wide, bold=True) for name in called]
        return max(heights) + _PAD_MM

    def _heading_mm(self, unit: str, climates: tuple[str, ...]) -> float:
        width = self.width - self._unit_label_mm(self.say("Unit:"))
        name = self._fits(self.units[unit], _UNIT_PT, width, bold=True)
        return name + self._names_mm(climates) + 2 * self.line_mm(_LETTERS_PT) + 3.0

    def _column_mm(self, climates: tuple[str, ...]) -> float:
        room = self.width - self.label_mm - _BATTERY_MM
        return min(room / (len(climates) * len(self.table.question.seasons)), _WIDEST_MM)

    def _heading(self, unit: str, climates: tuple[str, ...], *, again: bool) -> None:
        """Set the unit's name and the two rows of headings: climates, seasons."""
        pdf, seasons = self.pdf, self.table.question.seasons
        pdf.set_y(pdf.get_y() + 1.0)
        self._unit(unit, again=again)
        top, names = pdf.get_y(), self._names_mm(climates)
        seasons_mm = 2 * self.line_mm(_LETTERS_PT) + 0.6
        column = self._column_mm(climates)
        x = pdf.l_margin
        battery = self.say("battery\n[Ah]")
        for words, width in ((self.row_label, self.label_mm), (battery, _BATTERY_MM)):
            align = "L" if width == self.label_mm else "C"
            self._head_cell(x, top, width, names + seasons_mm, words, align=align)
            x += width
        for climate in climates:
            name = self.climates[climate]
            self._head_cell(x, top, column * len(seasons), names, name, bold=True)
            for season in seasons:
                words = f"{self.seasons[season]}\n{self.days_label}"
                self._head_cell(x, top + names, column, seasons_mm, words)
                x += column
        pdf.set_y(top + names + seasons_mm)

    def _head_cell(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        words: str,
        *,
        bold: bool = False,
        align: str = "C",
    ) -> None:
        """Set words in the middle of a heading's cell."""
        self._shaded(x, y, width, height, None)
        lines = self._fits(words, _LETTERS_PT, width, bold=bold)
        self.pdf.set_y(y + (height - lines) / 2)
        self.block(words, x=x, width=width, bold=bold, align=align)

    def _row(self, unit: str, vehicle: str, climates: tuple[str, ...]) -> None:
        """Set the days of one vehicle class."""
        pdf, question = self.pdf, self.table.question
        y, x = pdf.get_y(), pdf.l_margin
        column = self._column_mm(climates)
        ah = next(c.capacity_ah for c in self.table.cells if (c.unit, c.vehicle) == (unit, vehicle))
        for words, width in (
            (self.vehicles[vehicle], self.label_mm),
            (f"{ah:.0f}", _BATTERY_MM),
        ):
            self._shaded(x, y, width, _ROW_MM, None)
            self._figure(words, x, y, width, size=_LETTERS_PT, left=width == self.label_mm)
            x += width
        for climate in climates:
            for season in question.seasons:
                days = self.table.days(unit, vehicle, climate, season)
                band = band_of(days, question.horizon_days)
                self._shaded(x, y, column, _ROW_MM, band)
                shown = days_shown(days, question.horizon_days)
                self._figure(shown, x, y, column, size=_CELL_PT, bold=band is BANDS[0])
                x += column
        pdf.set_y(y + _ROW_MM)

    def _figure(
        self,
        words: str,
        x: float,
        y: float,
        width: float,
        *,
        size: float,
        bold: bool = False,
        left: bool = False,
    ) -> None:
        """Set one line in a cell, smaller where it would not fit."""
        room = width - 2 * _PAD_MM
        self.font(size, bold=bold)
        wide = self.pdf.get_string_width(self.text(words))
        if wide > room:
            self.font(size * room / wide, bold=bold)
            wide = room
        begin = x + _PAD_MM if left else x + (width - wide) / 2
        self.pdf.text(begin, y + 0.7 * _ROW_MM, self.text(words))

    def _assumptions(self) -> None:
        """Say what the table assumes, and what to beware of."""
        wide = self.width - 3.0
        heights = [self._fits(c, _LETTERS_PT, self.width - 4.0, bold=True) for c in self.cautions]
        box = sum(heights) + 4.0
        texts = sum(self._fits(line, _LETTERS_PT, wide) for line in self.lines)
        if texts + box + 2 * self.line_mm(_LETTERS_PT) > self._left_mm:
            self.pdf.add_page()
        self.title(self.say("What the table assumes"))
        for line in self.lines:
            if self._fits(line, _LETTERS_PT, wide) > self._left_mm:
                self.pdf.add_page()
            self.bullet(line, self.pdf.l_margin, self.width, foreign=True)
        if box > self._left_mm:
            self.pdf.add_page()
        self.boxed(self.cautions, bold=True)

    def _feet(self) -> None:
        """Write below each page its number, what it is, and that it is an estimate."""
        pdf = self.pdf
        last = pdf.page
        self.font(0.85 * _LETTERS_PT)
        words = self.text(
            f"{self.say(catalogue_title(self.table))}. {calculated_words(self.options)} "
            f"{self.cautions[0]}"
        )
        for number in range(1, last + 1):
            pdf.page = number
            y = pdf.h - _MARGIN_MM
            number_words = self.text(
                self.say("page {number:.0f} of {last:.0f}", number=number, last=last)
            )
            pdf.set_draw_color(0)
            pdf.set_line_width(0.2)
            pdf.line(pdf.l_margin, y - 4.2, pdf.l_margin + self.width, y - 4.2)
            # The state of the page's letters is its own: choose them anew.
            pdf.set_font_size(0.85 * _LETTERS_PT + 0.01)
            self.font(0.85 * _LETTERS_PT)
            wide = pdf.get_string_width(number_words)
            pdf.text(pdf.l_margin + self.width - wide, y - 0.8, number_words)
            room = self.width - wide - 4.0
            self.font(0.85 * _LETTERS_PT * min(room / pdf.get_string_width(words), 1.0))
            pdf.text(pdf.l_margin, y - 0.8, words)
