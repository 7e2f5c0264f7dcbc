"""Answers kept by their scenario, so that moving a slider reckons only the new one."""

import datetime as dt
import threading
from typing import Final

import streamlit as st

from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.answers.storage.helps import helps_most, helps_words
from drainsim.dashboard.what_if.temperature_file import FOLDER
from drainsim.files.profile import list_profiles
from drainsim.vehicle.batteries.battery import BATTERY
from drainsim.vehicle.case import Case, resolve
from drainsim.vehicle.keys.scenario import Scenario, scenario_from_text
from drainsim.vehicle.places.site import default_parked_from

# How long pages keep what may rest on a default date.
KEPT: Final = "1h"
# One answer at a time: side by side, fifty visitors' answers took twice the processor time and
# three times the memory (benchmarks/sessions.py), and none of them came sooner.
_TURN: Final = threading.Lock()


def case_of(scenario: Scenario) -> Case:
    """Return a scenario with every gap filled; filled once, whoever asks.

    Raises
    ------
    DrainsimError
        If it cannot be resolved.
    """
    return _case(*_key(scenario), scenario)


def answer_to(scenario: Scenario) -> ParkAnswer:
    """Return how long the vehicle of a scenario can stand.

    Raises
    ------
    DrainsimError
        If the scenario cannot be answered.
    """
    return _answer(*_key(scenario), scenario)


def helps_for(scenario: Scenario, answer: ParkAnswer) -> str:
    """Return what helps most beside an answer to the scenario, in words.

    Raises
    ------
    DrainsimError
        If the scenario cannot be answered.
    """
    return _helps(*_key(scenario), scenario, answer)


def read_again(text: str, where: str) -> Scenario:
    """Return a visitor's scenario from its text, its temperature file in reach."""
    return scenario_from_text(text, where=where, folder=FOLDER)


def _key(scenario: Scenario) -> tuple[str, str, str, dt.date]:
    """Return all an answer rests on: an edited profile file is read anew."""
    profile = list_profiles().get(str(scenario.get(BATTERY.profile) or ""))
    edited = profile.stat().st_mtime_ns if profile else 0
    return scenario.to_toml(), scenario.where, f"{profile} {edited}", default_parked_from()


@st.cache_resource(max_entries=200, show_spinner=False)
def _case(text: str, where: str, profile: str, parked_from: dt.date, _scenario: Scenario) -> Case:
    del text, where, profile, parked_from  # parts of the cache's key
    return resolve(_scenario)


@st.cache_resource(max_entries=100, show_spinner=False)
def _answer(
    text: str, where: str, profile: str, parked_from: dt.date, _scenario: Scenario
) -> ParkAnswer:
    case = _case(text, where, profile, parked_from, _scenario)
    with _TURN:
        return park(case)


@st.cache_data(max_entries=200, show_spinner=False)
def _helps(
    text: str,
    where: str,
    profile: str,
    parked_from: dt.date,
    _scenario: Scenario,
    _answer: ParkAnswer,
) -> str:
    del text, where, profile, parked_from
    with _TURN:
        return helps_words(*helps_most(_scenario, _answer))
