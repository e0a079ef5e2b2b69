"""3MF packages, sound and unsound, by the 3MF Core Specification 1.4 (2025).

A package is a ZIP file with a list of content types, a relationship that names the model,
and the model itself in XML.
"""

from __future__ import annotations

import io
import zipfile
from typing import TYPE_CHECKING

from toolwall.texts import indexed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
START_PART = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
CONTENT = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
RELATIONSHIPS = "application/vnd.openxmlformats-package.relationships+xml"
OPC = "http://schemas.openxmlformats.org/package/2006"
XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
MODEL_PATH = "3D/3dmodel.model"
EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest date of a ZIP entry: the same bytes each time


def model(corners: NDArray[np.float32], unit: str = "millimeter") -> str:
    """Return the XML of a model with one object, placed once."""
    vertices, triangles = indexed(corners)
    points = "".join(f'<vertex x="{x:.7g}" y="{y:.7g}" z="{z:.7g}"/>' for x, y, z in vertices)
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in triangles)
    mesh = f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"
    thing = f'<object id="1" type="model">{mesh}</object>'
    inside = f'<resources>{thing}</resources><build><item objectid="1"/></build>'
    return f'{XML}<model unit="{unit}" xml:lang="en" xmlns="{CORE}">{inside}</model>\n'


def three_mf(model_xml: str | None) -> bytes:
    """Return a package around a model; None leaves the model out."""
    types = (
        f'{XML}<Types xmlns="{OPC}/content-types">'
        f'<Default Extension="rels" ContentType="{RELATIONSHIPS}"/>'
        f'<Default Extension="model" ContentType="{CONTENT}"/></Types>\n'
    )
    links = (
        f'{XML}<Relationships xmlns="{OPC}/relationships">'
        f'<Relationship Id="model" Type="{START_PART}" Target="/{MODEL_PATH}"/></Relationships>\n'
    )
    files = {"[Content_Types].xml": types, "_rels/.rels": links}
    if model_xml is not None:
        files[MODEL_PATH] = model_xml
    return _zipped(files)


def padded(model_xml: str, size: int) -> str:
    """Return the model with `size` blanks before its end: next to nothing once packed."""
    return model_xml.replace("<resources>", " " * size + "<resources>", 1)


def outside_entity(model_xml: str) -> str:
    """Return the model with an entity that reads a file of the machine it is opened on."""
    return _with_entities(model_xml, '<!ENTITY a SYSTEM "file:///etc/hostname">')


def growing_entity(model_xml: str) -> str:
    """Return the model with entities that would grow tenfold six times over."""
    first = '<!ENTITY a0 "aaaaaaaaaa">'
    rest = [f'<!ENTITY a{k} "{f"&a{k - 1};" * 10}">' for k in range(1, 6)]
    return _with_entities(model_xml, first + "".join(rest) + '<!ENTITY a "&a5;">')


def _with_entities(model_xml: str, entities: str) -> str:
    head = f"{XML}<!DOCTYPE model [{entities}]>\n"
    title = '<metadata name="Title">&a;</metadata><resources>'
    return model_xml.replace(XML, head, 1).replace("<resources>", title, 1)


def _zipped(files: dict[str, str]) -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, text in files.items():
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 0  # the same bytes on every operating system
            archive.writestr(entry, text)
    return memory.getvalue()
