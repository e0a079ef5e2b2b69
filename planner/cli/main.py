"""The group of commands, and the one place where errors become exit codes."""

from __future__ import annotations

import os
import sys
from contextlib import suppress

import click

from planner import __version__
from planner.cli.audit import audit
from planner.cli.estimate import estimate
from planner.cli.nest import nest
from planner.cli.orient import orient
from planner.cli.plan import plan
from planner.cli.schedule import schedule
from planner.cli.start import start
from planner.cli.wall import wall
from planner.errors import InputError

DONE, STOPPED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130


@click.group(
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Exit codes: 0 done; 1 done, and a finding says stop; 2 the input is at fault; "
    "130 interrupted.",
)
@click.version_option(__version__, prog_name="platewright")
def commands() -> None:
    """Plan the printing of a modular wall storage system, from the mesh files.

    Begin with:  platewright start my-wall && platewright plan my-wall/job.yaml --out my-wall/plan
    """


for _command in (start, wall, plan, estimate, orient, audit, nest, schedule):
    commands.add_command(_command)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line and leave with the exit code of the contract."""
    sys.exit(run(arguments))


def run(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code; faults go to stderr, one line each."""
    try:
        code = commands.main(args=arguments, standalone_mode=False)
    except InputError as error:
        for problem in error.problems:
            click.echo(f"platewright: {problem}", err=True)
        return BAD_INPUT
    except click.exceptions.Abort:
        click.echo("platewright: interrupted; nothing was half-written", err=True)
        return INTERRUPTED
    except click.ClickException as error:
        error.show()
        return BAD_INPUT
    except (OSError, MemoryError) as error:
        return _refused_by_system(error)
    return code if isinstance(code, int) else DONE


def _refused_by_system(error: OSError | MemoryError) -> int:
    """Say in one line what the system would not do: a full disk, no memory left."""
    reason = getattr(error, "strerror", None) or "not enough memory"
    name = getattr(error, "filename", None) or "this computer"
    with suppress(OSError):
        click.echo(f"platewright: {name}: the system refused: {reason}", err=True)
    # What could not be printed must not be tried again when the interpreter ends.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return BAD_INPUT
