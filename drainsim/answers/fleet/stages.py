"""How far a long run of several stages is, in words."""

import time
from collections.abc import Callable
from typing import TypeAlias

from drainsim.answers.fleet.in_parts import Progress
from drainsim.language import Message, message

Show: TypeAlias = Callable[[float, str], object]


class Stages:
    """Tells how far a run is and how long its present stage may still take.

    Parameters
    ----------
    of : int
        Stages in all; their lengths need not be known before.
    show : callable
        Called with (share done of the whole run, every stage counted alike, words).
    clock : callable, optional
        Seconds that never run backwards.
    """

    def __init__(self, of: int, show: Show, *, clock: Callable[[], float] = time.monotonic) -> None:
        self.of, self.show, self.clock = of, show, clock
        self.begun = 0

    def next(self, what: Message) -> Progress:
        """Begin the next stage; return what its work reports to.

        Work that may turn out shorter gives the most it can be: the time left is a limit.
        """
        before, began = self.begun, self.clock()
        self.begun += 1
        name = message("Part {part} of {of}, {what}", part=self.begun, of=self.of, what=what)

        def told(done: int, of: int) -> None:
            left = (self.clock() - began) * (of - done) / max(done, 1)
            words = message(
                "{name}: {done:,.0f} of {of:,.0f}, up to {left:.0f} s left in this part",
                name=name,
                done=done,
                of=of,
                left=left,
            )
            self.show((before + done / max(of, 1)) / self.of, words)

        self.show(before / self.of, name)
        return told
