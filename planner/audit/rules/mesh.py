"""What had to be put right in a mesh, told to the person who drew it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.audit import sources
from planner.audit.model import Finding
from planner.settings.model import Level

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner.audit.subject import Subject
    from planner.job.model import Part
    from planner.solid.model import Solid

KINDS = {
    "scale": (
        Level.WARN,
        "a mesh in the wrong unit prints at the wrong size",
        "check the size shown and write unit: mm, cm, m, in, foot or micron for the part",
    ),
    "inside-out": (
        Level.NOTE,
        "triangles seen from inside describe a hole instead of a body",
        "flip the faces in the model and export it again",
    ),
    "facing": (
        Level.NOTE,
        "neighbouring triangles did not agree which side is outside",
        "unify the normals in the model and export it again",
    ),
    "union": (
        Level.NOTE,
        "overlapping bodies count plastic twice",
        "unite the bodies in the model, if they are meant as one",
    ),
    "cracks": (
        Level.NOTE,
        "neighbouring faces did not share their corners",
        "nothing, if the part looks right; else export it with a finer tolerance",
    ),
    "open surface": (
        Level.WARN,
        "an open surface has no inside: part of the outline was guessed",
        "close the model and export it again",
    ),
}
"""Kind of repair -> level, why it matters, what to do."""

OTHER = (
    Level.NOTE,
    "the mesh was changed on the way in",
    "check the part in the report, and export the mesh again if it looks wrong",
)


CLOSED = "a closed surface, seen from outside"


def unit(subject: Subject, part: Part) -> Iterator[Finding]:
    """Note a unit that neither the job nor the file says: millimetres were taken."""
    if part.unit is None and part.mesh.suffix.lower() != ".3mf":
        yield Finding(
            rule="unit",
            level=Level.NOTE,
            part=part.name,
            where=subject.where,
            found=f"no unit for {part.mesh.name}, so millimetres were taken",
            expected="the unit the mesh was drawn in",
            why="this kind of file does not say its unit, and a wrong one prints a wrong size",
            remedy="write unit: mm (cm, m, in, foot, micron) for the part",
            source=sources.MESH,
        )


def mesh(subject: Subject, solid: Solid) -> Iterator[Finding]:
    """Yield a finding per repair, and one for an outline guessed without a word of it."""
    for repair in solid.repairs:
        yield _told(subject, solid, repair.kind, repair.text)
    if solid.invented > 0 and not {"cracks", "open surface"} & {r.kind for r in solid.repairs}:
        text = f"{solid.invented * 100:.1f} % of the outline was guessed"
        yield _told(subject, solid, "open surface", text)


def _told(subject: Subject, solid: Solid, kind: str, text: str) -> Finding:
    level, why, remedy = KINDS.get(kind, OTHER)
    return Finding(
        rule="mesh",
        level=level,
        part=subject.part,
        where=subject.where or solid.name,
        found=f"{kind}: {text}",
        expected="the size that was meant" if kind == "scale" else CLOSED,
        why=why,
        remedy=remedy,
        source=sources.MESH,
    )
