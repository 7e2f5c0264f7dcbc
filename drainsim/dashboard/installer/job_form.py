"""The steps of a job, one at a time, and which of them decides next."""

from collections.abc import Callable, Sequence
from typing import Any, Final

import streamlit as st

from drainsim.answers.installer.acceptance import AcceptanceAnswer, acceptance, with_log
from drainsim.answers.installer.acceptance_checks import PASS
from drainsim.dashboard import forms, session
from drainsim.dashboard.installer import installer_parts as parts
from drainsim.dashboard.visitor_quota import LARGEST_MB
from drainsim.dashboard.what_if.control import MILLIAMPERES
from drainsim.errors import DrainsimError, one_line
from drainsim.files.current_log.reader import CurrentLog, log_from_bytes
from drainsim.files.formats import KEY, NEWEST
from drainsim.language import marked, message, say
from drainsim.vehicle.documents.job_record import JobRecord, job_record_from_dict
from drainsim.vehicle.documents.job_tables import CAUTIONS, MOUNTING
from drainsim.vehicle.keys.parameter import Parameter

PAGE: Final = "job"
READINGS: Final = {"before": marked("without the unit"), "after": marked("with the unit")}
_STEP: Final = "step"  # the page's own entries: where the work is
CURRENT: Final = 1  # the step with the two readings
_AT: Final = "at"


def table(name: str) -> dict[str, Any]:
    """Return one table of the record, made where it is missing."""
    kept = forms.entries(PAGE)
    if not isinstance(kept.get(name), dict):
        kept[name] = {}
    found: dict[str, Any] = kept[name]
    return found


def record() -> JobRecord:
    """Return the record typed so far, with this vehicle where it has none.

    Raises
    ------
    DrainsimError
        If an entry cannot be.
    """
    document = {
        name: value
        for name, value in forms.entries(PAGE).items()
        if value not in ({}, None) and name != KEY
    }
    if "scenario" not in document:
        document["scenario"] = session.scenario().tables
    return job_record_from_dict({KEY: NEWEST["job record"], **document}, where=PAGE)


def draw(answer: AcceptanceAnswer | None) -> None:
    """Draw the step the work is at, and the ways to the others."""
    verdicts = _verdicts(answer)
    at = int(forms.kept(_STEP, _AT, 0, low=0, high=len(_STEPS) - 1))
    names = [f"{n + 1}. {say(one[0])}{verdicts[n]}" for n, one in enumerate(_STEPS)]
    st.selectbox(
        say("Step of the job"),
        range(len(_STEPS)),
        format_func=names.__getitem__,
        **forms.bound(_STEP, _AT, 0, low=0, high=len(_STEPS) - 1, key="job_step"),
    )
    with st.container(border=True, key="job_fields"):
        _STEPS[at][1]()
    following = next_step(answer, after=at)
    if following is not None:
        st.button(
            say("Next: {step}", step=say(_STEPS[following][0])),
            key="job_next",
            type="primary",
            on_click=go_to,
            args=(following,),
        )


def go_to(step: int) -> None:
    """Turn to a step; for on_click."""
    forms.entries(_STEP)[_AT] = step


def next_step(answer: AcceptanceAnswer | None, *, after: int = -1) -> int | None:
    """Return the next step with something that does not pass yet, None where all do."""
    order = [(after + 1 + n) % len(_STEPS) for n in range(len(_STEPS))]
    if answer is None:
        return order[0]
    return next((n for n in order if n != after and _open(answer, n)), None)


def _open(answer: AcceptanceAnswer, step: int) -> bool:
    checks = _STEPS[step][2]
    return any(check.verdict != PASS for check in answer.checks if check.name in checks)


def _verdicts(answer: AcceptanceAnswer | None) -> list[str]:
    """Return what each step has come to, in words behind its name."""
    if answer is None:
        return [""] * len(_STEPS)
    found = []
    for _, _, checks in _STEPS:
        said = [check.verdict for check in answer.checks if check.name in checks]
        worst = next((one for one in ("fail", "cannot tell", "pass") if one in said), "")
        found.append(f": {say(worst)}" if worst else "")
    return found


def _number(label: str, of: str, name: str, *, low: float, high: float, step: float = 0.1) -> None:
    parts.number(label, table(of), name, key=f"j_{of}_{name}", low=low, high=high, step=step)


def _milliamperes(label: str, of: str, name: str, *, low: float, high: float, step: float) -> None:
    """Draw a current in mA; the record keeps A."""
    parts.number(
        f"{label} [{MILLIAMPERES.unit}]",
        table(of),
        name,
        key=f"j_{of}_{name}",
        low=low,
        high=high,
        step=step,
        scale=MILLIAMPERES,
    )


def _budget() -> None:
    parts.text(say("Label (no customer data needed)"), table("job"), "label", key="j_label")
    _number(say("It must be able to stand [days]"), "job", "days_needed", low=0, high=730, step=1.0)
    parts.side_by_side(
        lambda: _milliamperes(
            say("Unit may draw asleep"), "unit", "sleep_a", low=0, high=5000, step=0.1
        ),
        lambda: _milliamperes(say("and on average"), "unit", "mean_a", low=0, high=5000, step=0.1),
    )
    _milliamperes(say("Unit's peak"), "unit", "peak_a", low=1, high=20_000, step=50)


def _settled_current() -> None:
    parts.caution("series")
    parts.side_by_side(
        lambda: _milliamperes(
            say("Meter's smallest step"), "meter", "resolution_a", low=0, high=1000, step=0.1
        ),
        lambda: _number(say("Meter's accuracy [%]"), "meter", "accuracy_percent", low=0, high=50),
    )
    for name, words in READINGS.items():
        st.markdown(f"**{_sentence(say(words))}**")
        table(name).pop("log", None)  # no address can say what is in a file
        _reading(name)
        st.file_uploader(
            say("or a current log {words} (CSV, from key off)", words=say(words)),
            type=["csv", "txt", "tsv"],
            key=f"j_{name}_log",
            on_change=_take_upload,
            args=(name,),
            max_upload_size=LARGEST_MB,
        )


def _reading(name: str) -> None:
    parts.side_by_side(
        lambda: _milliamperes(say("Settled"), name, "settled_a", low=-1000, high=50_000, step=1),
        lambda: _number(
            say("read after key off [min]"),
            name,
            "minutes_after_key_off",
            low=0,
            high=10_000,
            step=1.0,
        ),
    )


def _take_upload(name: str) -> None:
    file = st.session_state.get(f"j_{name}_log")
    if file is not None:
        take_log(name, lambda: log_from_bytes(file.getvalue(), where=one_line(file.name)))


def take_log(name: str, read: Callable[[], CurrentLog]) -> bool:
    """Fill in a reading from a log, or say in a sentence why it holds none."""
    try:
        tested = with_log(record().tests()[0], name, read())  # the form shows the first test
    except DrainsimError as error:
        forms.tell(PAGE, message("The log was not taken. {error}", error=str(error)))
        return False
    forms.tell(PAGE, None)
    forms.entries(PAGE)[name] = tested.as_dict()[name]
    return True


def _connection() -> None:
    for one in ("restraint", "fuse", "battery"):
        parts.caution(one)
    parts.side_by_side(
        lambda: _number(say("Own fuse [A]"), "connection", "fuse_a", low=0.1, high=100, step=1.0),
        lambda: _number(say("Wire [mm²]"), "connection", "wire_mm2", low=0.05, high=120, step=0.25),
    )
    _number(say("Length, one way [m]"), "connection", "length_m", low=0, high=50, step=0.5)
    _circuits()


def _voltages() -> None:
    parts.side_by_side(
        lambda: _number(
            say("Constant, locked [V]"), "constant_check", "voltage_v", low=-1, high=60
        ),
        lambda: _number(
            say("read after key off [min]"),
            "constant_check",
            "minutes_after_key_off",
            low=0,
            high=10_000,
            step=1.0,
        ),
    )
    parts.side_by_side(
        lambda: _number(say("Sense, key off [V]"), "sense_check", "key_off_v", low=-1, high=60),
        lambda: _number(say("Sense, key on [V]"), "sense_check", "key_on_v", low=-1, high=60),
    )
    _number(say("Sense, while cranking [V]"), "sense_check", "cranking_v", low=-1, high=60)


def _first_start() -> None:
    st.caption(
        say(
            "Allow up to 10 min for a first connection and 20 min in the open (common practice, no "
            "source)."
        )
    )
    parts.question(say("Done in the open"), table("first_start"), "outdoors", key="j_outdoors")
    parts.side_by_side(
        lambda: _number(
            say("First connection [min]"), "first_start", "connection_min", low=0, high=1000
        ),
        lambda: _number(
            say("First position [min]"), "first_start", "position_min", low=0, high=1000
        ),
    )


def _mounting() -> None:
    """Ask for what is not so, and whether the rest was looked at."""
    points = MOUNTING.TABLE.fields
    wrong = [one.key for one in points if table("mounting").get(one.key) == "no"]
    _listed(points)
    st.session_state["j_mounting_wrong"] = wrong
    st.multiselect(
        say("What is not so?"),
        [one.key for one in points],
        format_func={one.key: _sentence(say(one.meaning)) for one in points}.__getitem__,
        placeholder=say("nothing"),
        key="j_mounting_wrong",
        on_change=_take_points,
        args=("mounting", points),
    )
    label = (
        say("I looked at all of them: the others are so") if wrong else say("All of these are so")
    )
    _confirm(label, "mounting", points)


def _cautions() -> None:
    points = CAUTIONS.TABLE.fields
    _listed(points)
    parts.caution("high_voltage")
    _confirm(say("Read, and kept to"), "cautions", points)


def _listed(points: Sequence[Parameter]) -> None:
    st.markdown("\n".join(f"- {_sentence(say(one.meaning))}" for one in points))


def _confirm(label: str, name: str, points: Sequence[Parameter]) -> None:
    said = [table(name).get(one.key) for one in points]
    st.session_state[f"j_{name}_seen"] = all(one in ("yes", "no") for one in said)
    st.checkbox(label, key=f"j_{name}_seen", on_change=_take_points, args=(name, points))


def _take_points(name: str, points: Sequence[Parameter]) -> None:
    """Keep each point as not so, as so where all were looked at, or as not looked at."""
    wrong = st.session_state.get(f"j_{name}_wrong", [])
    seen = bool(st.session_state[f"j_{name}_seen"])
    said = {one.key: "no" if one.key in wrong else "yes" if seen else None for one in points}
    forms.entries(PAGE)[name] = {key: answer for key, answer in said.items() if answer}


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _circuits() -> None:
    """Let the circuits of the page before serve as power and sense."""
    rows = forms.entries("circuits").get("rows")
    rows = [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    kept = forms.entries(PAGE)
    names = [str(row.get("name"))[:80] for row in rows]
    for key, words in (("power", marked("Constant power")), ("sense", marked("Ignition sense"))):
        now = kept.get(key)
        shown = str(now.get("name"))[:80] if isinstance(now, dict) else "none"
        options = list(dict.fromkeys(["none", shown, *names]))
        st.session_state[f"j_{key}"] = shown
        st.selectbox(
            say("{words} from circuit", words=say(words)),
            options,
            format_func=lambda one: say("none") if one == "none" else one,
            key=f"j_{key}",
            on_change=_take_circuit,
            args=(key, rows),
        )


def _take_circuit(key: str, rows: list[dict[str, Any]]) -> None:
    name = st.session_state[f"j_{key}"]
    kept = forms.entries(PAGE)
    found = next((row for row in rows if str(row.get("name"))[:80] == name), None)
    if found is not None:
        kept[key] = dict(found)
    elif name == "none":
        kept.pop(key, None)


# Name, what draws it, the checks it decides.
_STEPS: Final[tuple[tuple[str, Callable[[], None], tuple[str, ...]], ...]] = (
    (marked("Job and limits"), _budget, ("days it must stand",)),
    (marked("Current without and with the unit"), _settled_current, ("draw of the unit",)),
    (
        marked("Connection"),
        _connection,
        ("fuse and wire", "circuit for constant power", "circuit for ignition sense"),
    ),
    (marked("Voltages at the unit"), _voltages, ("constant power after 60 min", "sense wire")),
    (marked("First start-up, outdoors"), _first_start, ("first start-up outdoors",)),
    (marked("Mounting and routing"), _mounting, ("mounting and routing",)),
    (marked("Cautions"), _cautions, ("cautions acknowledged",)),
)


def open_at(found: JobRecord) -> None:
    """Turn to the first step of a loaded record that something is left to do in."""
    try:
        step = next_step(acceptance(found))
    except DrainsimError:
        step = 0
    go_to(step or 0)
