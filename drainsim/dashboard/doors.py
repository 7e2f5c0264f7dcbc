"""Three ways in, by who asks: which pages each leads to, and the vehicle each remembers."""

from dataclasses import dataclass
from typing import Final

import streamlit as st

from drainsim.dashboard import session, visit
from drainsim.language import marked

OWNER, SALES, INSTALLER = "owner", "sales", "installer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A page: its file, its name, the doors that lead to it, the entries its address holds."""

    file: str
    title: str
    doors: tuple[str, ...]
    forms: tuple[str, ...] = ()


QUESTIONS: Final = "questions"
DOORS: Final = {OWNER: marked("Owner"), INSTALLER: marked("Installer"), SALES: marked("Sales")}
_ALL: Final = tuple(DOORS)
# By address; the first is the bare one. In the order of the menu.
PLACES: Final = {
    "": Place(file="standing_page.py", title=marked("How long?"), doors=_ALL, forms=("plan",)),
    QUESTIONS: Place(
        file="questions_page.py", title=marked("Your vehicle"), doors=_ALL, forms=("plan",)
    ),
    "driving": Place(
        file="week_page.py", title=marked("Driving"), doors=(OWNER,), forms=("trips",)
    ),
    "ageing": Place(
        file="ageing_page.py", title=marked("Next winter"), doors=(OWNER,), forms=("ageing",)
    ),
    "fleet": Place(file="fleet_page.py", title=marked("Fleet"), doors=(OWNER,), forms=("fleet",)),
    "readings": Place(
        file="readings_page.py", title=marked("Readings"), doors=(OWNER,), forms=("readings",)
    ),
    "storage": Place(
        file="storage_page.py", title=marked("Leave it?"), doors=(SALES, OWNER), forms=("storage",)
    ),
    "catalogue": Place(
        file="catalogue_page.py", title=marked("Catalogue"), doors=(SALES,), forms=("catalogue",)
    ),
    "circuits": Place(
        file="circuits_page.py",
        title=marked("Which circuit?"),
        doors=(INSTALLER,),
        forms=("circuits",),
    ),
    "current-log": Place(
        file="current_log_page.py", title=marked("Current log"), doors=(INSTALLER,), forms=("log",)
    ),
    "job": Place(
        file="acceptance_page.py",
        title=marked("Job done?"),
        doors=(INSTALLER,),
        forms=("job", "complaint", "step"),
    ),
    "trust": Place(
        file="evidence_page.py", title=marked("How far to trust it"), doors=_ALL, forms=("trust",)
    ),
}
FIRST_PAGE: Final = {OWNER: "", INSTALLER: "circuits", SALES: "storage"}
FORMS: Final = tuple({form: None for place in PLACES.values() for form in place.forms})
_HERE: Final = "kept_door"
_VEHICLES: Final = "vehicles"


def here() -> str:
    """Return the door the visitor came in by."""
    return str(st.session_state.get(_HERE, OWNER))


def usual_door(page: str) -> str:
    """Return the door a page belongs to where its address says none."""
    return PLACES[page].doors[0]


def forms_of(page: str) -> tuple[str, ...]:
    """Return the entries a page's address holds."""
    return PLACES[page].forms


def arrive(door: str, page: str) -> None:
    """Stand at a door without changing the vehicle, which the address says."""
    st.session_state[_HERE] = door if door in PLACES[page].doors else usual_door(page)


def vehicle_of(door: str) -> session.Vehicle:
    """Return the vehicle a door remembers, the present one where it has none."""
    return _vehicles().get(door) or session.vehicle()


def keep() -> None:
    """Remember the vehicle of the door the visitor stands at, once one was asked about."""
    if not session.is_example():
        _vehicles()[here()] = session.vehicle()


def _vehicles() -> dict[str, session.Vehicle]:
    found: dict[str, session.Vehicle] = visit.memory().setdefault(_VEHICLES, {})
    return found
