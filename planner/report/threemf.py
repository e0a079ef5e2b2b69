"""One 3MF per plate: each kind of part once, placed by build items, in millimetres.

Written after the 3MF Core Specification 1.4.0 (3MF Consortium, 2025): package parts and
content types in section 2 and appendix C, coordinates and transforms in section 3.1 and 3.3,
objects and meshes in section 4. The origin is the bed's front left corner on the plate, x to
the right, y to the back, z up; a transform is written row by row for row vectors.
"""

from __future__ import annotations

import io
import zipfile
from collections import Counter
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape, quoteattr

from planner.report.placing import bed_matrix
from planner.report.words import contents, plain, printer_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray

    from planner.handover.model import Plan, PlannedPlate
    from planner.nest.model import Placement
    from planner.solid.model import Posed

MODEL_PART = "3D/3dModel.model"
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_START = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_HEAD = '<?xml version="1.0" encoding="UTF-8"?>\n'
_CONTENT_TYPES = (
    f'{_HEAD}<Types xmlns="{_PACKAGE}/content-types">'
    '<Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" '
    'ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>'
    "</Types>\n"
)
_RELATIONSHIPS = (
    f'{_HEAD}<Relationships xmlns="{_PACKAGE}/relationships">'
    f'<Relationship Target="/{MODEL_PART}" Id="rel0" Type="{_START}"/>'
    "</Relationships>\n"
)
_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest time a zip can hold: the clock has no business in a result."""
_DECIMALS = 6


def plan_plate_3mf(plan: Plan, plate: PlannedPlate) -> bytes:
    """Return the 3MF of one plate of a plan, as bytes."""
    posed = {ready.part.name: ready.posed for ready in plan.parts}
    title = f"{plan.job.name}, plate {plate.id}"
    return plate_3mf(plate, posed, title=title, printer=printer_of(plan, plate))


def plate_3mf(
    plate: PlannedPlate, posed: Mapping[str, Posed], *, title: str, printer: str
) -> bytes:
    """Return a 3MF with every placement of a plate; `posed` maps a part's name to its shape.

    `title` and `printer` go into what the file says about itself.

    A mesh that is not closed cannot be an object of type "model" (section 4.1 asks for two
    triangles at every edge); it is written with type "surface" and named in the description.
    """
    model = _model(plate, posed, title, printer)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as package:
        for name, text in (
            ("[Content_Types].xml", _CONTENT_TYPES),
            ("_rels/.rels", _RELATIONSHIPS),
            (MODEL_PART, model),
        ):
            package.writestr(_entry(name), text.encode(), compresslevel=6)
    return packed.getvalue()


def item_transform(placement: Placement) -> str:
    """Return the twelve numbers that stand a posed part in its place, z = 0 on the plate.

    >>> from planner.nest.model import Placement
    >>> item_transform(Placement(id="a", x_mm=30, y_mm=12.5, rotation_deg=90))
    '0 1 0 -1 0 0 0 0 1 30 12.5 0'
    """
    a, b, c, d, e, f = bed_matrix(placement)
    return " ".join(_number(value) for value in (a, b, 0, c, d, 0, 0, 0, 1, e, f, 0))


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, date_time=_EPOCH)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system = 3  # the same bytes whatever the machine
    entry.external_attr = 0o644 << 16
    return entry


def _model(plate: PlannedPlate, posed: Mapping[str, Posed], title: str, printer: str) -> str:
    kinds = list(plate.counts)
    ids = {name: index for index, name in enumerate(kinds, start=1)}
    objects = [_object(ids[name], name, posed[name]) for name in kinds]
    copies = _copy_numbers(plate)
    items = [
        _item(ids[placement.id], placement, copy)
        for placement, copy in zip(plate.placements, copies, strict=True)
    ]
    return (
        f'{_HEAD}<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">\n'
        f"{_metadata('Title', title)}"
        f"{_metadata('Description', _description(plate, posed, printer))}"
        f"{_metadata('Application', 'Platewright')}"
        f"<resources>\n{''.join(objects)}</resources>\n"
        f"<build>\n{''.join(items)}</build>\n</model>\n"
    )


def _description(plate: PlannedPlate, posed: Mapping[str, Posed], printer: str) -> str:
    opened = [name for name in plate.counts if not posed[name].solid.closed]
    remark = f" Not closed, check before printing: {', '.join(opened)}." if opened else ""
    return (
        f"For {printer}, {plate.material}, nozzle {plate.nozzle_mm:g} mm, layers of "
        f"{plate.layer_mm:g} mm: {contents(plate)}.{remark}"
    )


def _metadata(name: str, text: str) -> str:
    return f'<metadata name="{name}">{escape(plain(text))}</metadata>\n'


def _object(number: int, name: str, posed: Posed) -> str:
    kind = "model" if posed.solid.closed else "surface"
    attributes = f'id="{number}" type="{kind}" partnumber={_quoted(name)} name={_quoted(name)}'
    return (
        f"<object {attributes}><mesh>\n<vertices>\n{_vertices(posed.vertices_mm)}</vertices>\n"
        f"<triangles>\n{_triangles(posed.solid.triangles)}</triangles>\n</mesh></object>\n"
    )


def _copy_numbers(plate: PlannedPlate) -> list[int]:
    """Count the copies of each part: some readers keep one item per part number only."""
    seen: Counter[str] = Counter()
    numbers = []
    for placement in plate.placements:
        seen[placement.id] += 1
        numbers.append(seen[placement.id])
    return numbers


def _item(number: int, placement: Placement, copy: int) -> str:
    transform = item_transform(placement)
    partnumber = _quoted(f"{placement.id}, copy {copy}")
    return f'<item objectid="{number}" transform="{transform}" partnumber={partnumber}/>\n'


def _vertices(vertices_mm: NDArray[np.float64]) -> str:
    rows = [tuple(_number(value) for value in row) for row in vertices_mm.tolist()]
    return "".join(f'<vertex x="{x}" y="{y}" z="{z}"/>\n' for x, y, z in rows)


def _triangles(triangles: NDArray[np.int32]) -> str:
    rows = triangles.tolist()
    return "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in rows)


def _number(value: float) -> str:
    """Write a nanometre at most: under any printer's step, and short where it is round."""
    text = f"{value:.{_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _quoted(text: str) -> str:
    return quoteattr(plain(text))
