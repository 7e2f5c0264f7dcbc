"""Answers kept by their scenario, so that moving a slider reckons only the new one."""

import datetime as dt
import threading
from typing import Final

import streamlit as st

from drainsim.answers.standing.park import ParkAnswer, park
from drainsim.files.profile import list_profiles
from drainsim.vehicle.battery import BATTERY
from drainsim.vehicle.case import resolve
from drainsim.vehicle.scenario import Scenario, scenario_from_text
from drainsim.vehicle.site import default_parked_from

# How long pages keep what may rest on a default date.
KEPT: Final = "1h"
# One answer at a time: side by side, fifty visitors' answers took twice the processor time and
# three times the memory (benchmarks/sessions.py), and none of them came sooner.
_TURN: Final = threading.Lock()


def answer_to(scenario: Scenario) -> ParkAnswer:
    """Return how long the vehicle of a scenario can stand.

    Raises
    ------
    DrainsimError
        If the scenario cannot be answered.
    """
    profile = list_profiles().get(str(scenario.get(BATTERY.profile) or ""))
    edited = profile.stat().st_mtime_ns if profile else 0
    return _answer(scenario.to_toml(), scenario.where, f"{profile} {edited}", default_parked_from())


@st.cache_data(max_entries=100, show_spinner=False)
def _answer(text: str, where: str, profile: str, parked_from: dt.date) -> ParkAnswer:
    del profile, parked_from  # parts of the cache's key: an edited profile file is read anew
    with _TURN:
        return park(resolve(scenario_from_text(text, where=where)))
