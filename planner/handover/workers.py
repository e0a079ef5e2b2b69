"""Doing the same to many things, on several processor cores where that is wanted.

Threads would not help: most of the work holds the interpreter's lock. Results come in the
order of the jobs, whatever finished first, so a plan does not depend on the number of cores.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from multiprocessing import get_context
from signal import SIG_IGN, SIGINT, getsignal, signal
from threading import current_thread, main_thread
from typing import TYPE_CHECKING, Protocol, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

Given = TypeVar("Given")
Made = TypeVar("Made")


class Workers(Protocol):
    """Apply a function to every job, in order; the function must be one of a module."""

    def __call__(
        self, function: Callable[[Given], Made], jobs: Iterable[Given], /
    ) -> Iterator[Made]:
        """Yield one result per job, in the jobs' order; an exception comes out in its turn."""


def in_turn(function: Callable[[Given], Made], jobs: Iterable[Given], /) -> Iterator[Made]:
    """Do one job after another, here."""
    return map(function, jobs)


@contextmanager
def hire(processes: int) -> Iterator[Workers]:
    """Yield workers: this process alone, or so many others beside it.

    New processes are spawned, not forked, so that threads of the caller (a progress bar)
    cannot leave a lock behind; a program that asks for more than one must therefore be
    importable (`if __name__ == "__main__":`).
    """
    if processes <= 1:
        yield in_turn
        return
    pool = ProcessPoolExecutor(max_workers=processes, mp_context=get_context("spawn"))
    try:
        yield partial(_spread, pool)
    except BaseException:
        # Nobody wants what they are still working on.
        for process in list((getattr(pool, "_processes", None) or {}).values()):
            process.terminate()
        raise
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _spread(
    pool: ProcessPoolExecutor, function: Callable[[Given], Made], jobs: Iterable[Given], /
) -> Iterator[Made]:
    with _deaf_to_ctrl_c():
        return pool.map(function, jobs)


@contextmanager
def _deaf_to_ctrl_c() -> Iterator[None]:
    """Start processes that leave Ctrl-C to us; they inherit that a signal is ignored."""
    if current_thread() is not main_thread():
        yield
        return
    before = getsignal(SIGINT)
    signal(SIGINT, SIG_IGN)
    try:
        yield
    finally:
        signal(SIGINT, before)
