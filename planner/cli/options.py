"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from math import isnan
from pathlib import Path
from typing import Any

import click
from click.core import ParameterSource

from planner.errors import InputError, Problem

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


class FiniteRange(click.FloatRange):
    """A number in a range; "nan" is in none, though it compares as if it were in every one."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number, or fail as click does."""
        number = super().convert(value, param, ctx)
        if isnan(number):
            self.fail(f"{value!r} is not a number.", param, ctx)
        return number


def as_json() -> Decorator:
    """`--json`: one JSON document on stdout and nothing else there."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")


def search_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--seconds` and `--seed`: how much search, and which."""
    command = click.option(
        "--seconds",
        type=FiniteRange(min=0.1, max=3600),
        default=3.0,
        show_default=True,
        help="How much to search. It stands for a fixed amount of work (about as many "
        "seconds on a small computer), so the answer is the same on every machine.",
    )(command)
    return click.option(
        "--seed",
        type=click.IntRange(min=0, max=2**31 - 1),
        default=0,
        show_default=True,
        help="Another seed searches elsewhere; the same seed gives the same answer.",
    )(command)


def plate_limits(command: Callable[..., Any]) -> Callable[..., Any]:
    """`--parts-per-plate` and `--hours-per-plate`: how much may be lost to one failure."""
    command = click.option(
        "--hours-per-plate",
        type=FiniteRange(min=0, min_open=True, max=10_000),
        help="Longest plate in hours: all that one failure costs.",
    )(command)
    return click.option(
        "--parts-per-plate",
        type=click.IntRange(min=1, max=20_000),
        help="Most parts on any plate.",
    )(command)


class PlacePath(click.Path):
    """A path that says something: "" would quietly be the current folder."""

    def __init__(self) -> None:
        super().__init__(path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse an empty path, as an unset variable of a script makes it."""
        if value == "":
            self.fail("an empty path; write . for the current folder", param, ctx)
        return super().convert(value, param, ctx)


def check_out_goes_with(out: Path | None, *names: str) -> None:
    """Refuse options that only matter with `--out` where it was left out.

    `names` are parameters of the running command. What a default says is no fault. Raises
    InputError.
    """
    context = click.get_current_context()
    given = [
        name for name in names if context.get_parameter_source(name) is ParameterSource.COMMANDLINE
    ]
    if out is None and given:
        raise InputError(
            *(
                Problem(
                    file="command line",
                    place=f"--{name}",
                    found=f"--{name} without --out",
                    expected="a folder to write into, for without one no file is written",
                    remedy=f"add --out FOLDER, or leave out --{name}",
                )
                for name in given
            )
        )


def existing_file(name: str, *, multiple: bool = False) -> Decorator:
    """Take the path of a file; whether it can be read is said by its reader."""
    return click.argument(name, type=PlacePath(), nargs=-1 if multiple else 1, required=True)
