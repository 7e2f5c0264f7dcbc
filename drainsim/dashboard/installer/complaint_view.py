"""The complaint desk, under the job it is about."""

from typing import Final

import pandas as pd
import streamlit as st

from drainsim.answers.installer.complaint import PARTS, ComplaintAnswer, answer_complaint
from drainsim.dashboard import forms
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.parts import safety
from drainsim.dashboard.parts.plain_text import glued, plain
from drainsim.dashboard.parts.words_table import draw_table
from drainsim.dashboard.what_if.control import temperature_scale
from drainsim.errors import DrainsimError
from drainsim.files.formats import KEY, NEWEST
from drainsim.language import marked, say
from drainsim.vehicle.documents.complaint import complaint_from_dict
from drainsim.vehicle.documents.job_record import JobRecord

PAGE = "complaint"
_PROBABILITY: Final = marked(
    "Probability of a no-start then: **{with_unit:.0f} %** with the unit, **{without:.0f} %** "
    "without it."
)
_ALONE: Final = marked(
    "Probability of a no-start then, by the record alone, which the reading contradicts: "
    "**{with_unit:.0f} %** with the unit, **{without:.0f} %** without it."
)


def draw(record: JobRecord) -> None:
    """Draw the questions of a complaint and their answer."""
    with st.expander(say("It did not start: was it the unit?")):
        parts.caution("battery")
        entries, degrees = forms.entries(PAGE), temperature_scale()
        parts.side_by_side(
            lambda: parts.number(
                say("Parked [days]"),
                entries,
                "parked_days",
                key="k_days",
                low=0.1,
                high=365,
                step=1.0,
            ),
            lambda: parts.number(
                say("Mean temperature [{unit}]", unit=degrees.unit),
                entries,
                "temperature_c",
                key="k_temperature",
                low=degrees.from_scenario(-40.0),
                high=degrees.from_scenario(60.0),
                step=1.0,
                scale=degrees,
            ),
        )
        parts.side_by_side(
            lambda: parts.number(
                say("Resting voltage found, before charging [V]"),
                entries,
                "resting_v",
                key="k_resting",
                low=2,
                high=16,
                step=0.05,
            ),
            lambda: parts.number(
                say("State of health found [share of new]"),
                entries,
                "health",
                key="k_health",
                low=0.05,
                high=1.1,
            ),
        )
        if "parked_days" not in entries:
            st.caption(say("Give the days it was parked."))
            return
        happened = {key: entries[key] for key in ("parked_days", "temperature_c") if key in entries}
        test = {key: entries[key] for key in ("resting_v", "health") if key in entries}
        document = {
            KEY: NEWEST["complaint"],
            "record": record.as_dict(),
            "happened": happened,
            "battery_test": test,
        }
        try:
            answer = answer_complaint(complaint_from_dict(document, where="complaint"))
        except DrainsimError as error:
            st.error(plain(str(error)))
            return
        _result(answer)


def _result(answer: ComplaintAnswer) -> None:
    st.markdown(f"**{plain(answer.verdict)}**")
    draw_table(shares_table(answer), named_by=say("where the charge went"))
    for one in answer.candidates:
        st.markdown(
            say(
                "- **{name}**: {text}. Test: {test}.",
                name=plain(one.name),
                text=plain(one.text),
                test=plain(one.test),
            )
        )
    st.markdown(
        glued(
            say(
                _ALONE if answer.candidates else _PROBABILITY,
                with_unit=100 * answer.probability_with_unit,
                without=100 * answer.probability_without_unit,
            )
        )
    )
    safety.warnings(answer.warnings)


def shares_table(answer: ComplaintAnswer) -> pd.DataFrame:
    """Return the parts of the missing charge as words."""
    rows = [
        {
            say("where the charge went"): say(PARTS[share.part]),
            say("charge"): say("{charge:.1f} Ah", charge=share.ah),
            say("share"): say("{percent:.0f} %", percent=100 * share.share),
            say("8 in 10 cases"): say(
                "{low:.1f} to {high:.1f} Ah", low=share.low_ah, high=share.high_ah
            ),
        }
        for share in answer.shares
        if share.part != "unexplained" or answer.candidates
    ]
    rows.append(
        {
            say("where the charge went"): say("total"),
            say("charge"): say("{charge:.1f} Ah", charge=answer.total_missing_ah),
            say("share"): say("{percent:.0f} %", percent=100 * answer.missing_share),
            say("8 in 10 cases"): "",
        }
    )
    return pd.DataFrame(rows)
