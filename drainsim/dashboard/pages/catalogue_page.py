"""Page: the catalogue, days for vehicle classes against climates and seasons."""

from typing import Any, Final

import pandas as pd
import streamlit as st

from drainsim import dates
from drainsim.answers.standing.park import DEFAULT_RISK
from drainsim.answers.storage.catalogue import (
    DRAWS,
    MOST_UNITS,
    SEASONS,
    USUAL_CLIMATES,
    USUAL_SEASONS,
    Catalogue,
    CatalogueQuestion,
    assumption_lines,
    catalogue,
    catalogue_title,
)
from drainsim.answers.storage.catalogue_rows import battery_rows
from drainsim.dashboard import forms
from drainsim.dashboard.cached import KEPT
from drainsim.dashboard.parts import safety, sheet_language
from drainsim.dashboard.parts.chart import draw_chart, palette
from drainsim.dashboard.parts.plain_text import plain
from drainsim.errors import DrainsimError
from drainsim.figures.catalogue import catalogue_alt, catalogue_figure
from drainsim.files.presets import presets
from drainsim.language import say, spoken
from drainsim.sheets.spreadsheet import for_spreadsheets
from drainsim.sheets.storage.catalogue_pdf import catalogue_pdf
from drainsim.sheets.storage.catalogue_sheet import (
    catalogue_csv,
    catalogue_html,
    catalogue_rows,
    catalogue_xlsx,
)
from drainsim.sheets.storage.storage_words import LONGEST_NAME, PAPERS, SheetOptions
from drainsim.vehicle.keys.scenario import scenario_from_dict

_FORM: Final = "catalogue"
_RISKS: Final = (0.01, 0.02, 0.05, 0.10, 0.20)


@st.cache_data(max_entries=20, ttl=KEPT, show_spinner=False)
def _catalogue(
    units: tuple[str, ...],
    vehicles: tuple[str, ...],
    climates: tuple[str, ...],
    seasons: tuple[str, ...],
    risk: float,
    batteries: tuple[str, ...],
) -> Catalogue:
    scenarios = {
        unit: scenario_from_dict({"battery": {}, "unit": {"preset": unit}, "run": {"draws": DRAWS}})
        for unit in units
    }
    own = battery_rows(vehicles, {}, batteries) if batteries else {}
    return catalogue(
        CatalogueQuestion(
            units=scenarios,
            vehicles=tuple(own) or vehicles,
            own_vehicles=own,
            climates=climates,
            seasons=seasons,
            risk=risk,
        )
    )


def _choose(label: str, kind: str, chosen: list[str], most: int | None = None) -> tuple[str, ...]:
    named = {key: one.name for key, one in presets(kind).items()}
    return tuple(
        st.multiselect(
            label,
            options=list(named),
            format_func=lambda key: say(named[key]),
            max_selections=most,
            **forms.bound(_FORM, kind, chosen, among=named, high=most),
        )
    )


@st.cache_data(max_entries=20, ttl=KEPT, show_spinner=False)
def _pdf(asked: tuple[Any, ...], options: SheetOptions) -> bytes:
    return catalogue_pdf(_catalogue(*asked), options)


def _sheet_options() -> SheetOptions:
    """Ask for what stands at the head of a page."""
    with st.container(horizontal=True, vertical_alignment="bottom"):
        sheet = sheet_language.ask(_FORM)
        paper = st.selectbox(
            say("Paper"), PAPERS, **forms.bound(_FORM, "paper", "A4", among=PAPERS)
        )
        company = st.text_input(
            say("Company"), max_chars=LONGEST_NAME, **forms.bound(_FORM, "company", "")
        )
        contact = st.text_input(
            say("Contact"), max_chars=LONGEST_NAME, **forms.bound(_FORM, "contact", "")
        )
    return SheetOptions(
        language=sheet.code,
        temperature_unit=sheet.temperature_unit,
        paper=str(paper),
        company=company,
        contact=contact,
        date=dates.today(),
    )


def _downloads(table: Catalogue, asked: tuple[Any, ...]) -> None:
    try:
        options = _sheet_options()
        page = catalogue_html(table, options)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    with st.container(horizontal=True):
        for label, content, name in (
            (
                say("Table (CSV)"),
                for_spreadsheets(catalogue_csv(table, options)),
                "catalogue.csv",
            ),
            (say("Table (XLSX)"), catalogue_xlsx(table, options), "catalogue.xlsx"),
            (say("Table (HTML)"), page, "catalogue.html"),
        ):
            st.download_button(
                label, content, file_name=name, key=f"save_{name}", on_click="ignore"
            )
        try:
            st.download_button(
                say("Table (PDF)"),
                _pdf(asked, options),
                file_name="catalogue.pdf",
                mime="application/pdf",
                key="save_catalogue.pdf",
                on_click="ignore",
            )
        except DrainsimError as error:
            st.caption(plain(str(error)))


def _page() -> None:
    st.header(say("How long, for which vehicle, where?"), anchor=False)
    left, right = st.columns([3, 2])
    with left:
        vehicles = _choose(say("Vehicle classes"), "vehicles", list(presets("vehicles")))
        climates = _choose(say("Climates"), "climates", list(USUAL_CLIMATES))
        batteries = st.text_input(
            say("Your own batteries, by their labels, separated by commas"),
            placeholder=say("60Ah/540A-EN, Standard=70Ah"),
            max_chars=400,
            **forms.bound(_FORM, "batteries", ""),
        )
    labels = tuple(part.strip() for part in batteries.split(",") if part.strip())
    with right:
        told = say("Units, side by side (up to {most})", most=MOST_UNITS)
        units = _choose(told, "units", ["hourly"], MOST_UNITS)
        seasons = tuple(
            st.multiselect(
                say("Parked in"),
                list(SEASONS),
                format_func=say,
                **forms.bound(_FORM, "seasons", list(USUAL_SEASONS), among=SEASONS),
            )
        )
        risk = st.selectbox(
            say("Risk limit"),
            options=_RISKS,
            format_func=lambda share: f"{100 * share:.0f} %",
            **forms.bound(_FORM, "risk", DEFAULT_RISK, among=_RISKS),
        )
    try:
        with st.spinner(say("Running every vehicle class in every climate ...")):
            asked = (units, vehicles, climates, seasons, float(risk), labels)
            table = _catalogue(*asked)
    except DrainsimError as error:
        st.error(plain(str(error)))
        return
    st.markdown(f"**{plain(say(catalogue_title(table)))}**")
    draw_chart(
        catalogue_figure(table, palette()),
        key="catalogue_chart",
        alt=catalogue_alt(table),
    )
    heading, *rows = catalogue_rows(table, spoken())
    st.dataframe(
        pd.DataFrame([[str(value) for value in row] for row in rows], columns=heading),
        hide_index=True,
        key="catalogue_table",
    )
    for line in assumption_lines(table.question):
        st.caption(plain(line))
    _downloads(table, asked)
    safety.defers()


if __name__ == "__main__":  # streamlit runs a page as the main module
    _page()
