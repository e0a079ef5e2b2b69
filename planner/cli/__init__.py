"""The command `platewright`: parses arguments, calls the library, prints.

Only click is imported at the top of these modules, so that `--help` answers at once; each
command imports what it needs when it runs.
"""

from planner.cli.main import main

__all__ = ["main"]
