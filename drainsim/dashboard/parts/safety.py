"""Cautions and limits, where someone would act on an answer."""

from collections.abc import Sequence
from typing import Final

import streamlit as st

from drainsim.dashboard import forms
from drainsim.dashboard.parts.plain_text import plain, sentence
from drainsim.language import marked, say, say_many
from drainsim.vehicle.kind import high_voltage_caution

_CAUTIONS: Final = marked(
    "- **Gas and acid.** Lead-acid batteries give off explosive gas and hold acid: air, no "
    "sparks or flames, eye protection and gloves.\n"
    "- **Frozen.** Never charge or jump-start a battery that may be frozen: it can burst. "
    "Thaw it and have it tested.\n"
    "- **Follow the vehicle maker's instructions** for charging, jump-starting, "
    "disconnecting and measuring. Opening a current path can wake control units or lose "
    "settings.\n"
    "- **Short circuit.** No metal tools or jewellery across the terminals; fuse every "
    "added wire at the battery.\n"
    "- **Hybrid and electric vehicles:** stay with the 12 V side. Orange cables are high "
    "voltage and only for trained people."
)


def cautions(told: Sequence[str] = ()) -> None:
    """Draw the caution once, in one line, where someone may act; what an answer warns of below.

    The rest stands behind the line and is drawn when it is opened.
    """
    st.markdown(
        ":material/warning: "
        + say("Explosive gas: no sparks. Never charge or jump-start a frozen battery.")
    )
    label = say("Before you charge")
    if told:
        label = say_many(
            "Before you charge, {number} warning", "Before you charge, {number} warnings", len(told)
        )
    more = st.expander(label, key="cautions", on_change=forms.stay)
    if not more.open:
        return
    with more:
        warnings(told)
        st.markdown(say(_CAUTIONS))


def warnings(told: Sequence[str]) -> None:
    """Draw what an answer warns of, each as a sentence."""
    for one in told:
        words = sentence(one).removesuffix(".")
        st.markdown(f":material/warning: {plain(f'{words}.')}")


def defers() -> None:
    """Say what this answer does not replace."""
    st.caption(
        say(
            "A model's estimate, not a promise. It gives way to the vehicle, battery and unit "
            "makers' "
            "instructions, to local codes and to licensed practice."
        )
    )


def charging() -> None:
    """Draw the caution beside the switch that connects a charger."""
    st.markdown(
        say(
            "**Charging:** batteries give off hydrogen, so ventilate, no flames "
            "or sparks. Never charge a frozen battery: it can burst."
        )
    )


def high_voltage(kind: str) -> None:
    """Draw the caution beside the choice of a vehicle with a traction battery."""
    caution = high_voltage_caution(kind)
    if caution:
        warnings([caution])
