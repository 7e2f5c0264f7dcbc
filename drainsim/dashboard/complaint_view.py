"""The complaint desk, under the job it is about."""

import pandas as pd
import streamlit as st

from drainsim.answers.installer.complaint import ComplaintAnswer, answer_complaint
from drainsim.dashboard import forms, safety
from drainsim.dashboard import installer_parts as parts
from drainsim.dashboard.plain_text import glued, plain
from drainsim.dashboard.words_table import draw_table
from drainsim.errors import DrainsimError
from drainsim.files.formats import KEY, NEWEST
from drainsim.vehicle.documents.complaint import complaint_from_dict
from drainsim.vehicle.documents.job_record import JobRecord

PAGE = "complaint"


def draw(record: JobRecord) -> None:
    """Draw the questions of a complaint and their answer."""
    with st.expander("It did not start: was it the unit?"):
        parts.caution("battery")
        entries = forms.entries(PAGE)
        parts.side_by_side(
            lambda: parts.number(
                "Parked [days]", entries, "parked_days", key="k_days", low=0.1, high=365, step=1.0
            ),
            lambda: parts.number(
                "Mean temperature [°C]",
                entries,
                "temperature_c",
                key="k_temperature",
                low=-40,
                high=60,
                step=1.0,
            ),
        )
        parts.side_by_side(
            lambda: parts.number(
                "Resting voltage found, before charging [V]",
                entries,
                "resting_v",
                key="k_resting",
                low=2,
                high=16,
                step=0.05,
            ),
            lambda: parts.number(
                "State of health found [share of new]",
                entries,
                "health",
                key="k_health",
                low=0.05,
                high=1.1,
            ),
        )
        if "parked_days" not in entries:
            st.caption("Give the days it was parked.")
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
    draw_table(shares_table(answer), named_by="where the charge went")
    for one in answer.candidates:
        st.markdown(f"- **{plain(one.name)}**: {plain(one.text)}. Test: {plain(one.test)}.")
    alone = ", by the record alone, which the reading contradicts" if answer.candidates else ""
    st.markdown(
        glued(
            f"Probability of a no-start then{alone}: "
            f"**{100 * answer.probability_with_unit:.0f} %** with the unit, "
            f"**{100 * answer.probability_without_unit:.0f} %** without it."
        )
    )
    safety.warnings(answer.warnings)


def shares_table(answer: ComplaintAnswer) -> pd.DataFrame:
    """Return the parts of the missing charge as words."""
    rows = [
        {
            "where the charge went": share.part.replace("_", " "),
            "charge": f"{share.ah:.1f} Ah",
            "share": f"{100 * share.share:.0f} %",
            "8 in 10 cases": f"{share.low_ah:.1f} to {share.high_ah:.1f} Ah",
        }
        for share in answer.shares
        if share.part != "unexplained" or answer.candidates
    ]
    rows.append(
        {
            "where the charge went": "total",
            "charge": f"{answer.total_missing_ah:.1f} Ah",
            "share": "100 %",
            "8 in 10 cases": "",
        }
    )
    return pd.DataFrame(rows)
