"""What can be wrong with the user's input, said in one line each.

Every refusal is an `InputError` that carries one or more `Problem`s; the command prints
them and ends with exit code 2. Anything else that escapes is a bug of ours.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing to put right: where it is, what was found, what was expected, what to do.

    `file` is shown as the user wrote it; `line` counts from 1, or is None where the file
    has no lines (a mesh); `place` is the path of keys inside the file, or "".
    """

    file: str
    found: str
    expected: str
    remedy: str
    place: str = ""
    line: int | None = None

    def __str__(self) -> str:
        """Return the one line that the user reads.

        >>> print(Problem(file="job.yaml", line=7, place="parts.hook.up", found="'up'",
        ...               expected="an axis such as +z", remedy="write up: +z"))
        job.yaml:7: parts.hook.up: found 'up', expected an axis such as +z; write up: +z
        """
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        place = f" {self.place}:" if self.place else ""
        return f"{where}:{place} found {self.found}, expected {self.expected}; {self.remedy}"


class InputError(Exception):
    """The input is at fault; `problems` holds every fault that was found in one go."""

    def __init__(self, *problems: Problem) -> None:
        self.problems: tuple[Problem, ...] = problems
        super().__init__("\n".join(str(problem) for problem in problems))

    def __reduce__(self) -> tuple[type[InputError], tuple[Problem, ...]]:
        """Travel between processes with the problems, not with the text made of them."""
        return (InputError, self.problems)


def input_error(
    file: object,
    *,
    found: str,
    expected: str,
    remedy: str,
    place: str = "",
    line: int | None = None,
) -> InputError:
    """Return an `InputError` with a single problem; shorthand for the commonest case."""
    return InputError(
        Problem(
            file=str(file), found=found, expected=expected, remedy=remedy, place=place, line=line
        )
    )
