"""Bodies posed as they are drawn, with settings and a printer to lay them by."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from planner.settings.model import Bead, Feature, Printer, Settings
from planner.solid.model import Footprint, Posed, Solid

if TYPE_CHECKING:
    import manifold3d

SETTINGS = Settings(
    name="test",
    material="pla",
    nozzle_mm=0.4,
    layer_mm=0.2,
    first_layer_mm=0.2,
    line_width_mm=0.45,
    walls=3,
    top_layers=5,
    bottom_layers=4,
    infill=0.2,
    infill_pattern="grid",
    nozzle_c=210.0,
    bed_c=60.0,
    fan=1.0,
    speed_mm_s=dict.fromkeys(Feature, 60.0) | {Feature.TRAVEL: 150.0},
    acceleration_mm_s2=1500.0,
    flow_max_mm3_s=12.0,
    layer_time_min_s=8.0,
    retract_mm=0.8,
    support=False,
    overhang_deg=50.0,
    brim_mm=0.0,
    bead=Bead.RECTANGLE,
)
PRINTER = Printer(
    name="test",
    bed_width_mm=220.0,
    bed_depth_mm=220.0,
    height_mm=250.0,
    nozzle_mm=0.4,
    nozzle_c_max=260.0,
    bed_c_max=100.0,
    enclosed=False,
    speed_max_mm_s=180.0,
    acceleration_max_mm_s2=3000.0,
    corner_speed_mm_s=8.0,
    flow_max_mm3_s=12.0,
    power_w=300.0,
    start_s=300.0,
    end_s=300.0,
)


def posed(body: manifold3d.Manifold) -> Posed:
    """Stand a body on the plate as it is drawn."""
    mesh = body.to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    vertices = vertices - vertices.min(axis=0)
    solid = Solid(
        name="body.stl",
        vertices_mm=vertices,
        triangles=np.asarray(mesh.tri_verts).astype(np.int32),
        closed=True,
        volume_mm3=body.volume(),
        repairs=(),
        invented=0.0,
        digest="0",
    )
    return Posed(
        solid=solid,
        up=(0.0, 0.0, 1.0),
        rotation=np.eye(3),
        vertices_mm=vertices,
        size_mm=tuple(vertices.max(axis=0).tolist()),
        contact_mm2=0.0,
        overhang_mm2=0.0,
        tip_deg=0.0,
        footprint=Footprint(polygons_mm=()),
    )


@pytest.fixture(name="posed", scope="session")
def posed_():
    return posed


@pytest.fixture(scope="session")
def settings():
    """Return a maker of settings that differ from the common ones in what is given."""
    return lambda **changes: replace(SETTINGS, **changes)


@pytest.fixture(scope="session")
def printer():
    return lambda **changes: replace(PRINTER, **changes)
