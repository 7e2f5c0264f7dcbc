"""The guide names every reason for which a reading is set aside."""

import re

from drainsim.answers.readings.history import shapes, stands
from drainsim.files.guide import guide_text
from drainsim.files.readings import block, gather, history, times

REASONS = {
    *(history.BEHIND_SWITCH, history.ZERO, history.EMPTY, block.NO_VOLTAGE, block.NO_NUMBER),
    *(gather.DOUBLE, gather.OTHER_VALUE),
    *(times.UNREADABLE, times.DOUBLED, times.SKIPPED, times.NOT_SET),
    *(shapes.OWN_CELL, shapes.OUTSIDE, shapes.STUCK, shapes.FLOOR),
    *(shapes.CHARGER, shapes.SUN, shapes.CHARGED, stands.FED_FROM_ONE, stands.LATER),
}


def test_the_guide_lists_every_reason_and_no_other() -> None:
    """In the words the answer uses, so that they can be looked up."""
    table = guide_text("readings").split("## What is set aside", 1)[1].split("\n## ", 1)[0]
    listed = set(re.findall(r"^\| ([^|]+?) \|", table, re.M))
    assert listed - {"what the answer says", "---"} == REASONS
