"""Work on a long list in parts, on all cores where that pays."""

import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from multiprocessing.connection import Connection
from typing import Final, TypeAlias, TypeVar

from drainsim.errors import DrainsimError

Item = TypeVar("Item")
Result = TypeVar("Result")
Progress: TypeAlias = Callable[[int, int], None]

_PART: Final = 250  # items taken at a time: bounds a process's memory, and progress is seen
_PART_AWAY: Final = 25  # of another machine's worker
_MOST_WORKERS: Final = 61  # what the standard library allows on every system
_ALONE: Final = 400  # up to here starting processes costs more than it saves


def in_parts(
    items: Sequence[Item],
    work: Callable[[Sequence[Item]], Result],
    *,
    workers: int | None = None,
    progress: Progress | None = None,
    alone: int | None = None,
    pool: Executor | None = None,
) -> Iterator[Result]:
    """Yield work(part) for parts of a list, in any order.

    Parameters
    ----------
    items : sequence
        Neighbours should be alike: a part steps alike items together.
    work : callable
        A module's function or a partial of one, so that other processes find it.
    workers : int, optional
        Processes; as many as cores. One, or a short list, stays in this process.
    progress : callable, optional
        Called with (items done, items in all).
    alone : int, optional
        A list up to this long stays in this process.
    pool : Executor, optional
        Where to work instead: that of a cluster.

    Raises
    ------
    DrainsimError
        If the number of processes is not from 1 to 61.
    """
    if workers is not None and not 1 <= workers <= _MOST_WORKERS:
        raise DrainsimError(f"workers = {workers} must be from 1 to {_MOST_WORKERS}")
    workers = workers or min(os.cpu_count() or 1, _MOST_WORKERS)
    done = 0

    def advance(part: Sequence[Item]) -> None:
        nonlocal done
        done += len(part)
        if progress:
            progress(done, len(items))

    def results(waiting: dict[Future[Result], Sequence[Item]]) -> Iterator[Result]:
        for finished in as_completed(waiting):
            part = waiting.pop(finished)
            yield finished.result()
            advance(part)

    if pool is not None:
        yield from results({pool.submit(work, part): part for part in _cut(items, _PART_AWAY)})
        return
    if workers == 1 or len(items) <= (_ALONE if alone is None else alone):
        for part in _cut(items, _PART):
            yield work(part)
            advance(part)
        return
    parts = _cut(items, min(_PART, -(-len(items) // workers)))
    context = get_context("spawn")
    held, lifeline = context.Pipe(duplex=False)
    pool = ProcessPoolExecutor(workers, mp_context=context, initializer=_end_with, initargs=(held,))
    try:
        with _interrupts_spared():
            waiting = {pool.submit(work, part): part for part in parts}
        yield from results(waiting)
    except BrokenProcessPool:
        raise DrainsimError(
            "a worker process was ended from outside, perhaps for lack of memory; use one worker"
        ) from None
    finally:  # also when the caller has had enough: what is still being worked on is dropped
        lifeline.close()
        held.close()
        pool.shutdown(cancel_futures=True)


def _cut(items: Sequence[Item], size: int) -> list[Sequence[Item]]:
    return [items[start : start + size] for start in range(0, len(items), size)]


def _end_with(lifeline: Connection) -> None:
    """End this worker as soon as the process that started it lets go, however that ended.

    The other end of the pipe is open in that process alone: even if it is killed, the system
    closes it, and a worker in the middle of its part ends too.
    """

    def watch() -> None:
        try:
            lifeline.poll(None)
        finally:
            os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


@contextmanager
def _interrupts_spared() -> Iterator[None]:
    """Start processes that leave Ctrl-C to this one, which then lets them go."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
