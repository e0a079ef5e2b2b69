"""The folder of a plan: every file rendered first, then all of them put in place at once.

A list of what we wrote (`.platewright.json`, with SHA-256) lets a second run replace its own
files and clear away plates that are no longer in the plan, and nothing else.
"""

from __future__ import annotations

import json
import re
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from planner.report.calendar import visits_ics
from planner.report.document import dump, plan_document
from planner.report.html import plan_html
from planner.report.roster import roster_of_plan
from planner.report.safely import commit, obstacles, refuse
from planner.report.sheets import sheets_html
from planner.report.tables import parts_csv, runs_csv, shopping_csv
from planner.report.threemf import plan_plate_3mf
from planner.report.visits_page import visits_html

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping
    from pathlib import Path

    from planner.handover.model import Plan
    from planner.whatif.model import WhatIf

MANIFEST = ".platewright.json"
ALWAYS = (
    *("plan.json", "plan.html", "visits.html", "sheets.html"),
    *("runs.csv", "parts.csv", "shopping.csv", "visits.ics"),
)
"""What every plan's folder holds, besides its plates."""
_SCHEMA = "platewright/written/1"
_STEM_MAX = 80
"""Letters of a name that go into a file's; file systems end at 255 bytes, some tools sooner."""
_STALE = re.compile(
    r"plates/[A-Za-z0-9][A-Za-z0-9._-]*\.(3mf|svg)"
    r"|(wall|template)-[A-Za-z0-9][A-Za-z0-9._-]*\.(svg|pdf|dxf)"
)
"""Only names of this form are ever removed, whatever a list from elsewhere may say."""


def write_plan(
    plan: Plan, out: Path, *, force: bool, what_if: WhatIf | None = None
) -> tuple[Path, ...]:
    """Write the files of a plan into the folder `out`; return their paths.

    Files of an earlier run that nobody touched are replaced, its plates that are gone from
    the plan are removed. Raises InputError, before anything is written, for a file that is
    not ours or was edited since (unless `force`), and if the folder cannot be written; then
    what was there before is unchanged.
    """
    return write_folder(render_plan(plan, what_if), out, force=force)


def write_folder(
    rendered: Mapping[str, bytes], out: Path, *, force: bool, listed: str = MANIFEST
) -> tuple[Path, ...]:
    """Write files, by their names inside the folder `out`; see `write_plan`.

    `listed` is the list of what was written: each command that writes into a folder has its
    own, so that none clears away the files of another.
    """
    manifest = out / listed
    ours = _read_manifest(manifest)
    files = {out / name: content for name, content in rendered.items()}
    check_folder(out, tuple(files), force=force, listed=listed)
    stale = [out / name for name in sorted(ours.keys() - rendered.keys()) if _STALE.fullmatch(name)]
    gone = [path for path in stale if _untouched(path, ours[path.relative_to(out).as_posix()])]
    commit({**files, manifest: _manifest(rendered)}, remove=gone)
    return tuple(files)


def check_folder(
    out: Path, files: Collection[Path] = (), *, force: bool, listed: str = MANIFEST
) -> None:
    """Raise InputError if a plan may not be written into the folder `out`.

    To be asked before the work too: nobody wants to hear of it after an hour. By default
    the files are looked at that every plan has.
    """
    manifest = out / listed
    ours = _read_manifest(manifest)

    def may_replace(path: Path) -> bool:
        return force or _untouched(path, ours.get(path.relative_to(out).as_posix()))

    refuse(obstacles(files or [out / name for name in ALWAYS], may_replace, root=out))
    refuse(obstacles([manifest], lambda path: force or bool(_load(path)), root=out))


def render_plan(plan: Plan, what_if: WhatIf | None = None) -> dict[str, bytes]:
    """Return every file of a plan as bytes, by its name inside the folder."""
    roster, names = roster_of_plan(plan), plate_file_names([plate.id for plate in plan.plates])
    plates = {f"plates/{names[plate.id]}.3mf": plan_plate_3mf(plan, plate) for plate in plan.plates}
    return {
        "plan.json": dump(plan_document(plan)).encode(),
        "plan.html": plan_html(plan, what_if).encode(errors="replace"),
        "visits.html": visits_html(roster).encode(errors="replace"),
        "sheets.html": sheets_html(roster, plan).encode(errors="replace"),
        **plates,
        "runs.csv": runs_csv(plan).encode(),
        "parts.csv": parts_csv(plan).encode(),
        "shopping.csv": shopping_csv(plan).encode(),
        "visits.ics": visits_ics(roster),
    }


def plate_file_names(ids: list[str]) -> dict[str, str]:
    """Give each plate a file name that every system takes, and no two the same.

    >>> plate_file_names(["P1", "../p1", "first article"])
    {'P1': 'P1', '../p1': 'p1-2', 'first article': 'first-article'}
    """
    return dict(zip(ids, file_stems(ids, "plate"), strict=True))


def file_stems(names: Iterable[str], fallback: str) -> tuple[str, ...]:
    """Turn names into beginnings of file names that every system takes, no two the same.

    >>> file_stems(["north", "North", "!"], "wall")
    ('north', 'North-2', 'wall')
    """
    taken: set[str] = set()
    found = []
    for given in names:
        stem = re.sub(r"[^A-Za-z0-9]+", "-", given)[:_STEM_MAX].strip("-") or fallback
        name, count = stem, 1
        while name.lower() in taken:  # some file systems do not tell p1 from P1
            count += 1
            name = f"{stem}-{count}"
        taken.add(name.lower())
        found.append(name)
    return tuple(found)


def _manifest(rendered: Mapping[str, bytes]) -> bytes:
    digests = {name: sha256(rendered[name]).hexdigest() for name in sorted(rendered)}
    return dump({"schema": _SCHEMA, "files": digests}).encode()


def _read_manifest(manifest: Path) -> dict[str, str]:
    """Return name -> SHA-256 of what an earlier run wrote; empty if there is no such list."""
    files = _load(manifest).get("files")
    if not isinstance(files, dict):
        return {}
    return {str(name): str(digest) for name, digest in files.items()}


def _load(manifest: Path) -> dict[str, Any]:
    """Return the list's content if it is one of ours, else nothing."""
    try:
        if manifest.is_symlink() or not manifest.is_file():  # a pipe would never end
            return {}
        content = json.loads(manifest.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    ours = isinstance(content, dict) and content.get("schema") == _SCHEMA
    return content if ours else {}


def _untouched(path: Path, digest: str | None) -> bool:
    if digest is None or path.is_symlink() or not path.is_file():
        return False
    return sha256(path.read_bytes()).hexdigest() == digest
