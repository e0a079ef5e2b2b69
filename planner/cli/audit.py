"""`platewright audit`: settings and parts held against a guideline, before a batch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from planner.cli.options import as_json, existing_file

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@existing_file("files", multiple=True)
@click.option("--guideline", help="A shipped guideline's name, or the path of one.")
@as_json()
def audit(files: tuple[Path, ...], *, guideline: str | None, as_json: bool) -> int:
    """Hold the parts and settings of job files, or settings files, against a guideline."""
    from planner.audit.document import audit_document
    from planner.cli.screen import console, printing, progress_bar
    from planner.handover.audits import audit_file
    from planner.report.document import dump
    from planner.report.terminal import print_findings

    with progress_bar() as progress:
        audited = [audit_file(path, guideline=guideline, progress=progress) for path in files]
    findings = tuple(finding for file in audited for finding in file.findings)
    with printing():
        if as_json:
            click.echo(dump(audit_document(audited)), nl=False)
        else:
            print_findings(console(), findings)
    return int(any(finding.level == "stop" for finding in findings))
