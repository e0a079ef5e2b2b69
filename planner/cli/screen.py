"""Where a command's words go: tables and JSON to stdout, progress and remarks to stderr."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from planner.progress import Progress


def console() -> Console:
    """Return the console for tables, as wide as the terminal."""
    from rich.console import Console

    class Told(Console):
        def on_broken_pipe(self) -> None:
            """Leave it to `printing`: the command's own exit code is the answer."""
            raise BrokenPipeError

    return Told(highlight=False)


@contextmanager
def printing() -> Iterator[None]:
    """Print to stdout inside the block; a reader that has gone (`| head`) is no fault."""
    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def remark(text: str) -> None:
    """Say something on stderr, beside the result."""
    click.echo(text, err=True)


@contextmanager
def progress_bar() -> Iterator[Progress]:
    """Show a bar per stage on stderr while the block runs; nothing if it is no terminal."""
    from rich.console import Console
    from rich.progress import BarColumn, TaskID, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bars

    bars = Bars(
        TextColumn("{task.description:<24}"),
        BarColumn(bar_width=24),
        TextColumn("{task.completed:.0f}/{task.total:.0f}"),
        TimeElapsedColumn(),
        TextColumn("{task.fields[note]}"),
        console=Console(stderr=True),
        transient=True,
        disable=not Console(stderr=True).is_terminal,
    )
    tasks: dict[str, TaskID] = {}

    def show(stage: str, done: int, total: int, /, note: str = "") -> None:
        if stage not in tasks:
            tasks[stage] = bars.add_task(stage, total=total, note=note)
        bars.update(tasks[stage], completed=done, total=total, note=note)

    with bars:
        yield show


def cores() -> int:
    """Return how many processes to use: one per core that we may use, four at most."""
    try:
        usable = len(os.sched_getaffinity(0))
    except AttributeError:  # not on every system
        usable = os.cpu_count() or 1
    return min(4, usable)
