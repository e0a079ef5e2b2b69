"""What can be wrong with the user's input, said in one line each.

Every refusal is an `InputError` that carries one or more `Problem`s; the command prints
them and ends with exit code 2. Anything else that escapes is a bug of ours.
"""

from __future__ import annotations

from dataclasses import dataclass

FIELD_MAX = 300
"""Longest piece of a message: beyond it nobody reads, and the line is lost on the screen."""

_ESCAPED_BYTES = range(0xDC80, 0xDD00)
"""Where Python keeps the bytes of a file name that is not UTF-8 (PEP 383)."""


def printable(text: str) -> str:
    r"""Return text with every character that no screen takes written as its number.

    >>> print(printable("a\nb"), printable("\x1b[1m"), printable("\u2028"), printable("\udcff"))
    a\x0ab \x1b[1m \u2028 \xff
    """
    if text.isprintable():
        return text
    return "".join(char if char.isprintable() else _escaped(ord(char)) for char in text)


def one_line(text: str) -> str:
    """Return text that fits into one line of a message, whatever it holds."""
    cut = text if len(text) <= FIELD_MAX else f"{text[: FIELD_MAX - 1]}…"
    return printable(cut)


def _escaped(code: int) -> str:
    byte = code - 0xDC00 if code in _ESCAPED_BYTES else code
    if byte <= 0xFF:
        return f"\\x{byte:02x}"
    return f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}"


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
        where = one_line(self.file) + ("" if self.line is None else f":{self.line}")
        place = f" {one_line(self.place)}:" if self.place else ""
        found, expected, remedy = map(one_line, (self.found, self.expected, self.remedy))
        return f"{where}:{place} found {found}, expected {expected}; {remedy}"


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
