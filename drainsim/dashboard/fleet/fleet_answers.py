"""Answers to a fleet list, kept by the file's content and the settings it was asked with."""

import datetime as dt
import hashlib
import threading
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import streamlit as st

from drainsim.answers.fleet.action import Action
from drainsim.answers.fleet.answer import FleetAnswer, answer_fleet, changed_fleet
from drainsim.answers.fleet.done import with_done
from drainsim.answers.fleet.fleet_actions import cheapest_actions
from drainsim.answers.fleet.stages import Show, Stages
from drainsim.files.fleet.marks import all_marks
from drainsim.files.fleet.table import RawTable, table_from_bytes
from drainsim.language import message
from drainsim.vehicle.documents.fleet_rows import Fleet, FleetSettings, fleet_from_table

ASK_FIRST: Final = 500  # vehicles; more are answered at the press of a button
_MANY: Final = 2000  # vehicles; more are shared between processes
_MOST_KEPT: Final = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Everything an answer depends on."""

    content: str  # digest of the file
    name: str
    chosen: tuple[tuple[str, str], ...]  # heading → column
    settings: FleetSettings
    risk: float
    days: tuple[int, ...]  # from today: those stated
    until: int
    call_out_price: float | None
    changes: tuple[tuple[str, Any], ...] = ()
    done: str = ""  # digest of the file in which steps are marked


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """The list as read, its answer and what to do."""

    fleet: Fleet
    answer: FleetAnswer
    actions: Mapping[str, Action]


def digest(content: bytes) -> str:
    """Return what names a file's content."""
    return hashlib.sha256(content).hexdigest()


def read_list(content: bytes, name: str) -> RawTable:
    """Return the table in a file.

    Raises
    ------
    DrainsimError
        If it cannot be read.
    """
    return _table(content, digest(content), name)


@st.cache_resource(max_entries=4, show_spinner=False)
def _table(_content: bytes, key: str, name: str) -> RawTable:
    del key  # stands for the content
    return table_from_bytes(_content, where=name)


def read_fleet(table: RawTable, question: Question) -> Fleet:
    """Return the vehicles of a table.

    Raises
    ------
    DrainsimError
        If no column names them.
    """
    return _fleet(table, repr((question.content, question.chosen, question.settings)), question)


@st.cache_resource(max_entries=4, show_spinner=False)
def _fleet(_table: RawTable, key: str, _question: Question) -> Fleet:
    del key  # says everything the list depends on
    return fleet_from_table(
        _table, _question.settings, where=_question.name, chosen=dict(_question.chosen)
    )


@st.cache_resource(show_spinner=False)
def _kept() -> "tuple[threading.Lock, OrderedDict[object, Answered]]":
    return threading.Lock(), OrderedDict()


def gone_on(fleet: Fleet, question: Question, files: Sequence[tuple[bytes, str]]) -> Fleet:
    """Return the list as it stands after the steps marked as done in earlier results.

    Raises
    ------
    DrainsimError
        If the file cannot be read or marks what cannot have been done.
    """
    return _gone_on(fleet, repr(question), question, files)


@st.cache_resource(max_entries=4, show_spinner=False)
def _gone_on(
    _fleet: Fleet, key: str, _question: Question, _files: Sequence[tuple[bytes, str]]
) -> Fleet:
    del key  # says everything it depends on
    marks = all_marks((table_from_bytes(content, where=name), name) for content, name in _files)
    return with_done(_fleet, marks, _question.settings, workers=1)


def known(question: Question) -> Answered | None:
    """Return the answer if it has been worked out already."""
    lock, answers = _kept()
    with lock:
        return answers.get(_key(question))


def _key(question: Question) -> object:
    return repr(question)


def answered(question: Question, fleet: Fleet, show: Show) -> Answered:
    """Return the answer to a question, worked out now if it is new.

    Raises
    ------
    DrainsimError
        If the question cannot be answered.
    """
    found = known(question)
    if found is None:
        found = _worked_out(question, fleet, show)
        lock, answers = _kept()
        with lock:
            answers[_key(question)] = found
            while len(answers) > _MOST_KEPT:
                answers.popitem(last=False)
    return found


def _worked_out(question: Question, fleet: Fleet, show: Show) -> Answered:
    settings, changes = question.settings, dict(question.changes)
    stages = Stages(1 if changes else 2, show)
    if changes:
        fleet = changed_fleet(fleet, changes)
    workers = 1 if len(fleet.vehicles) <= _MANY else None  # None: one process per core
    answer = answer_fleet(
        fleet,
        settings,
        risk=question.risk,
        dates=[settings.today + dt.timedelta(days=day) for day in question.days],
        call_out_price=question.call_out_price,
        progress=stages.next(message("vehicles answered")),
        workers=workers,
    )
    if changes:
        return Answered(fleet=fleet, answer=answer, actions={})
    actions = cheapest_actions(
        fleet.vehicles,
        answer.vehicles,
        settings,
        risk=question.risk,
        days=question.until,
        progress=stages.next(message("actions tried")),
        workers=workers,
    )
    return Answered(fleet=fleet, answer=answer, actions=actions)
