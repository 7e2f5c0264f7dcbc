"""A number asked for twice: a slider to sweep it, a box beside it to type it or step it.

On a touch screen only the box is there (`looks`): a swipe that scrolls the page would move a
slider, and a finger hits no exact value on it.
"""

from collections.abc import Callable, Sequence
from typing import Final

import streamlit as st

from drainsim.language import say, spoken

_BOX_PX: Final = 168


def box_key(key: str) -> str:
    """Return the key of the box beside a slider.

    Examples
    --------
    >>> box_key("age_years")
    'age_years_box'
    """
    return f"{key}_box"


def slider_box(
    label: str,
    value: float,
    *,
    key: str,
    low: float,
    high: float,
    step: float,
    take: Callable[[str], None],
    steps: Sequence[float] = (),
    note: str | None = None,
) -> None:
    """Draw a slider and its box, both at `value`; `take` is given the key of the one moved.

    The slider has a stop at each of `steps` where there are any. A value past the ends stretches
    both: it is never moved.
    """
    other = box_key(key)
    st.session_state[key] = st.session_state[other] = value
    low, high = min(low, value), max(high, value)
    with st.container(
        horizontal=True, vertical_alignment="bottom", gap="small", key=f"pair_{key}", wrap=False
    ):
        if steps:
            st.select_slider(
                label,
                options=sorted({*steps, value}),
                format_func=lambda one: say("{value:g}", value=one),
                key=key,
                help=note,
                on_change=take,
                args=(key,),
            )
        else:
            st.slider(
                label,
                min_value=low,
                max_value=high,
                step=step,
                format="%d" if step >= 1 else _written(step),
                key=key,
                help=note,
                on_change=take,
                args=(key,),
            )
        st.number_input(
            label,
            min_value=low,
            max_value=high,
            step=step,
            format="%d" if isinstance(value, int) else "%g",
            key=other,
            label_visibility="collapsed",
            width=_BOX_PX,
            on_change=take,
            args=(other,),
        )


def _written(step: float) -> str:
    """Return how a slider writes its value: with the decimal sign of the visit's language."""
    decimals = len(f"{step:g}".partition(".")[2])
    return f"%.{decimals}f" if spoken().code == "en" else "localized"
