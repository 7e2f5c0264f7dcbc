"""A number asked for twice: a slider to sweep it, a box beside it to type it or step it.

On a touch screen only the box is there (`looks`): a swipe that scrolls the page would move a
slider, and a finger hits no exact value on it.
"""

from collections.abc import Callable, Sequence
from typing import Final

import streamlit as st

from drainsim.language import say, spoken

_BOX_PX: Final = 168
_LAST: Final = "kept_last_moved"  # which of all sliders and boxes, with its language and range


def box_key(key: str) -> str:
    """Return the key of the box beside a slider.

    Examples
    --------
    >>> box_key("age_years")
    'age_years_box'
    """
    return f"{key}_box"


def begin_page() -> None:
    """Forget which was moved last: on another page all are new widgets to the browser."""
    st.session_state.pop(_LAST, None)


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
    low, high = min(low, value), max(high, value)
    stops = sorted({*steps, value}) if steps else []
    range_ = (spoken().code, low, high, step, *stops)
    _stand_at(key, range_, value)
    _stand_at(other, range_, value)
    with st.container(
        horizontal=True, vertical_alignment="bottom", gap="small", key=f"pair_{key}", wrap=False
    ):
        if steps:
            st.select_slider(
                label,
                options=stops,
                format_func=lambda one: say("{value:g}", value=one),
                key=key,
                help=note,
                on_change=_moved,
                args=(key, other, range_, value, take),
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
                on_change=_moved,
                args=(key, other, range_, value, take),
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
            on_change=_moved,
            args=(other, key, range_, value, take),
        )


def _moved(
    key: str, other: str, range_: tuple[object, ...], value: float, take: Callable[[str], None]
) -> None:
    """Take where one of a pair was moved to from `value`; for on_change.

    While the other is moved quickly, the browser still sends where this one stood before it heard
    of the first move: that is no move.
    """
    state = st.session_state
    if state.get(_LAST) == (other, range_) and state.get(other) != value:
        return
    state[_LAST] = key, range_
    take(key)


def _stand_at(key: str, range_: tuple[object, ...], value: float) -> None:
    """Put a widget at a value, but not the one moved last where it stands there already.

    It would be told so, and go back from where it was moved to in the meantime: of ten quick
    presses of an arrow some were lost. With another range it is a new widget to the browser.
    """
    state = st.session_state
    if state.get(_LAST) != (key, range_) or state.get(key) != value:
        state[key] = value


def _written(step: float) -> str:
    """Return how a slider writes its value: with the decimal sign of the visit's language."""
    decimals = len(f"{step:g}".partition(".")[2])
    return f"%.{decimals}f" if spoken().code == "en" else "localized"
