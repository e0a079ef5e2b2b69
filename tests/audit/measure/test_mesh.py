"""A part on the plate beside its mesh."""

from __future__ import annotations

import pytest
import trimesh

from planner.audit.measure import Status, measure_toolpath
from planner.solid.pose import pose
from planner.solid.read import read_solid
from tests.audit.measure import shapes, writing
from tests.audit.measure.catalogue import changed


@pytest.fixture
def block(tmp_path):
    """Return a block of 18 x 14 x 4 mm, posed."""
    path = tmp_path / "block.stl"
    trimesh.creation.box((18, 14, 4)).export(path)
    return pose(read_solid(path, unit="mm"), (0.0, 0.0, 1.0))


def measured(tmp_path, mesh, *, size=(18, 14, 4), **changes):
    shape = shapes.block(*size).moved(60, 60, 30)
    path = tmp_path / "plate.gcode"
    path.write_text(writing.write(changed("plain", shapes=(shape,), **changes))[0])
    return measure_toolpath(path, mesh=mesh)


@pytest.mark.parametrize("bead", ["rectangle", "stadium"])
@pytest.mark.parametrize("layer", [0.2, 0.28])
def test_the_outer_wall_settles_the_section_of_lines(tmp_path, block, bead, layer):
    """Validation: the writer's width and section, told by how far the wall lies inside."""
    found = measured(tmp_path, block, bead=bead, layer=layer, first=0.24 if layer > 0.2 else 0.2)
    part, width = found.parts[0].figures, found.figures["line_width_mm"]

    assert (part["bead"].value, part["bead"].status) == (bead, Status.FIRM)
    assert part["mesh_fits"].value is True
    assert width.status is Status.FIRM
    assert width.value == pytest.approx(0.45, rel=0.02)


def test_without_a_mesh_the_width_is_told_as_ambiguous(tmp_path):
    width = measured(tmp_path, None).figures["line_width_mm"]

    assert width.status is Status.AMBIGUOUS
    assert width.spread == pytest.approx((0.45, 0.45 + 0.2146 * 0.2), rel=1e-3)


def test_a_scaled_part_is_not_taken_for_its_mesh(tmp_path, block):
    """5 % larger each way is 10 % more area."""
    part = measured(tmp_path, block, size=(18.9, 14.7, 4)).parts[0].figures

    assert part["mesh_fits"].value is False
    assert "bead" not in part
