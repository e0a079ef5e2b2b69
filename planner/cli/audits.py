"""What `platewright audit` does with its answers: prints them, and writes them for machines."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from planner.errors import InputError, input_error
from planner.report.safely import same_file

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner.handover.audits import Asked
    from planner.handover.batch import Batch

STDOUT = "-"


def refuse_mixed(files: Sequence[Path], asked: Mapping[str, Any]) -> None:
    """Refuse options that cannot be meant together; raises InputError."""
    if (asked["job"] is None) != (asked["part"] is None):
        has, lacks = ("--part", "--job") if asked["job"] is None else ("--job", "--part")
        raise _mixed(f"{has} without {lacks}", "both of them, or neither", f"add {lacks}")
    to_stdout = [o for o in ("junit", "sarif") if asked[o] == STDOUT]
    to_stdout += ["json"] if asked["as_json"] else []
    if len(to_stdout) > 1:
        told = " and ".join(f"--{option}" for option in to_stdout)
        raise _mixed(f"{told} on stdout", "one document there", "write one of them to a file")
    for option, count in (("compare", 2), ("fix", 1)):
        if asked["fixed" if option == "fix" else option] and len(files) != count:
            raise _mixed(f"--{option} with {len(files)} files", f"{count}", f"name {count} of them")
    if asked["fixed"] is not None and asked["compare"]:
        raise _mixed("--fix and --compare", "one of them", "leave one out")
    written = [option for option in ("junit", "sarif") if asked[option] is not None]
    for option, key in (("compare", "compare"), ("fix", "fixed")):
        if asked[key] and written:
            raise _mixed(f"--{option} and --{written[0]}", "one of them", "leave one out")
    if len(written) > 1 and same_file(Path(asked["junit"]), Path(asked["sarif"])):
        raise _mixed("--junit and --sarif into one file", "two files", "rename one of them")


def refuse_inputs(outs: Iterable[Path], files: Iterable[Path], asked: Asked) -> None:
    """Refuse to write over what is read, by whatever name; raises InputError."""
    named = (asked.guideline, asked.printer, asked.filament, asked.job, asked.lexicon)
    inputs = [*files, *(Path(each) for each in named if each)]
    for out in outs:
        if any(same_file(out, path) for path in inputs):
            raise input_error(
                out,
                found="a file that this audit reads",
                expected="another file to write to",
                remedy="choose another name",
            )


def report(
    batch: Batch, *, why: bool, junit: str | None, sarif: str | None, force: bool, as_json: bool
) -> int:
    """Print the audit, write what was asked for, and return the exit code."""
    from planner.audit.document import audit_document
    from planner.cli.screen import console, printing
    from planner.report.audit import print_audit
    from planner.report.document import dump
    from planner.report.junit import audit_junit
    from planner.report.sarif import audit_sarif

    findings = [finding for file in batch.files for finding in file.findings]
    documents: dict[str, bytes] = {}
    if junit is not None:
        documents[junit] = audit_junit(batch)
    if sarif is not None:
        documents[sarif] = dump(audit_sarif(batch)).encode()
    _write({name: text for name, text in documents.items() if name != STDOUT}, force=force)
    with printing():
        if STDOUT in documents:
            click.echo(documents[STDOUT].decode(), nl=False)
        elif as_json:
            click.echo(dump(audit_document(batch.files)), nl=False)
        else:
            print_audit(console(), batch.files, why=why)
    if batch.refused:
        raise InputError(*dict.fromkeys(p for each in batch.refused for p in each.problems))
    return int(any(finding.level == "stop" for finding in findings))


def _write(documents: Mapping[str, bytes], *, force: bool) -> None:
    """Write all documents or none; one of our own from an earlier run may be replaced."""
    from planner.report.safely import commit, obstacles, refuse

    files = {Path(name): text for name, text in documents.items()}
    refuse(obstacles(files, lambda path: force or _is_report(path)))
    commit(files)


def _is_report(path: Path) -> bool:
    """Tell whether a file is a report as we write them, by its beginning."""
    if path.is_symlink() or not path.is_file():
        return False
    with path.open("rb") as stream:
        head = stream.read(4096)
    return b'<testsuites name="platewright audit"' in head or (
        b"sarif-schema-2.1.0" in head and b'"name": "platewright"' in head
    )


def _mixed(found: str, expected: str, remedy: str) -> InputError:
    return input_error("command line", found=found, expected=expected, remedy=remedy)


def compare(a: Path, b: Path, asked: Asked, *, as_json: bool) -> int:
    """Print what differs between the settings of two files; return the exit code, 0."""
    from planner.audit.compare import compare as held_together
    from planner.audit.compare import comparison_document
    from planner.cli.screen import console, printing
    from planner.handover.kinds import said_by
    from planner.report.comparison import print_comparison
    from planner.report.document import dump

    comparison = held_together(said_by(a, asked), said_by(b, asked))
    with printing():
        if as_json:
            click.echo(dump(comparison_document(comparison)), nl=False)
        else:
            print_comparison(console(), comparison)
    return 0


def fix(path: Path, out: Path, asked: Asked, *, force: bool, as_json: bool) -> int:
    """Write a corrected copy, say what was changed and what is left; return the exit code."""
    from planner.cli.screen import console, printing
    from planner.handover.kinds import fixed
    from planner.report.comparison import fix_document, print_fix
    from planner.report.document import dump
    from planner.report.safely import commit, obstacles, refuse

    refuse_original(path, out)
    refuse_inputs([out], [], asked)
    result = fixed(path, asked)
    refuse(obstacles([out], lambda _path: force))
    commit({out: result.content})
    with printing():
        if as_json:
            click.echo(dump(fix_document(str(path), str(out), result)), nl=False)
        else:
            print_fix(console(), str(path), str(out), result)
    return int(any(left.finding.level == "stop" for left in result.left))


def refuse_original(path: Path, out: Path) -> None:
    """Refuse to write over the file that is read, by whatever name; raises InputError."""
    if same_file(out, path):
        raise input_error(
            "command line",
            place="--fix",
            found=f"{out}, which is the original",
            expected="another file: the original is never changed",
            remedy="choose another name for the copy",
        )
