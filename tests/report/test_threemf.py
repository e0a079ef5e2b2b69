"""Plates as 3MF, read back by two readers that are not ours: trimesh and lib3mf."""

import io
import zipfile
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from planner.report.threemf import MODEL_PART, item_transform, plan_plate_3mf

from .conftest import HOSTILE, make_plan

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def placed_corners(posed, placement):
    """Turn and move a part's vertices by the definition of a placement, written out in full."""
    angle = np.radians(placement.rotation_deg)
    x, y, z = posed.vertices_mm.T
    return np.column_stack(
        [
            x * np.cos(angle) - y * np.sin(angle) + placement.x_mm,
            x * np.sin(angle) + y * np.cos(angle) + placement.y_mm,
            z,
        ]
    )


def posed_by_name(plan):
    return {ready.part.name: ready.posed for ready in plan.parts}


def read_with_lib3mf(content):
    """Return the lib3mf model and the warnings of a strict reader."""
    import lib3mf

    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)  # noqa: FBT003 - not our signature
    reader.ReadFromBuffer(list(content))
    warnings = [reader.GetWarning(index) for index in range(reader.GetWarningCount())]
    return model, warnings


def model_root(content):
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return ET.fromstring(package.read(MODEL_PART))


@pytest.mark.parametrize("index", [0, 1, 2])
def test_lib3mf_reads_it_strictly_and_without_warning(plan, index):
    """Validation against the reference library: unit, names, items, transforms, volume."""
    import lib3mf

    plate = plan.plates[index]
    posed = posed_by_name(plan)

    model, warnings = read_with_lib3mf(plan_plate_3mf(plan, plate))

    assert warnings == []
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    items = model.GetBuildItems()
    assert items.Count() == len(plate.placements)
    for placement in plate.placements:
        assert items.MoveNext()
        item = items.GetCurrent()
        part = item.GetObjectResource()
        assert part.GetName() == placement.id
        assert item.GetPartNumber().startswith(f"{placement.id}, copy ")
        rows = np.array(item.GetObjectTransform().Fields)  # (3 or 4, ...) as lib3mf holds it
        rows = rows.reshape(-1, 3) if rows.size == 12 else rows
        mesh = model.GetMeshObjectByID(part.GetResourceID())
        vertices = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
        moved = vertices @ rows[:3] + rows[3]
        expected = placed_corners(posed[placement.id], placement)
        # lib3mf keeps single precision: 24 bits of up to 300 mm are 2e-5 mm.
        assert moved == pytest.approx(expected, abs=1e-4)


def test_closed_parts_are_manifold_for_lib3mf_and_open_ones_are_surfaces(plan):
    """The reference library agrees which meshes are manifold; open ones are marked."""
    import lib3mf

    model, _ = read_with_lib3mf(plan_plate_3mf(plan, plan.plates[0]))

    meshes = model.GetMeshObjects()
    seen = {}
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        seen[mesh.GetName()] = (mesh.IsManifoldAndOriented(), mesh.GetType())
    assert seen == {
        "panel": (True, lib3mf.ObjectType.Model),
        "key": (True, lib3mf.ObjectType.Model),
        "crate": (False, lib3mf.ObjectType.Surface),
    }


@pytest.mark.parametrize("index", [1, 2])
def test_trimesh_finds_every_copy_in_its_place(plan, index):
    """Validation against trimesh: bounds of each copy, total volume, all on the plate."""
    import trimesh

    plate = plan.plates[index]
    posed = posed_by_name(plan)

    scene = trimesh.load(io.BytesIO(plan_plate_3mf(plan, plate)), file_type="3mf")

    copies = scene.dump()
    assert len(copies) == len(plate.placements)
    found = sorted(np.round(copy.bounds, 4).ravel().tolist() for copy in copies)
    wanted = []
    for placement in plate.placements:
        corners = placed_corners(posed[placement.id], placement)
        wanted.append(np.round([corners.min(axis=0), corners.max(axis=0)], 4).ravel().tolist())
    assert np.array(found) == pytest.approx(np.array(sorted(wanted)), abs=2e-4)
    volume = sum(posed[placement.id].solid.volume_mm3 for placement in plate.placements)
    # Six decimals of a millimetre on faces of some 1e4 mm2: 1e-6 x 1e4 x copies.
    assert sum(copy.volume for copy in copies) == pytest.approx(volume, abs=0.5)
    assert min(copy.bounds[0][2] for copy in copies) == pytest.approx(0.0, abs=1e-6)


def test_every_copy_lies_on_the_bed(plan):
    """The synthetic plates keep to their beds, so the tests above look at real positions."""
    posed = posed_by_name(plan)
    for plate in plan.plates:
        size = (plate.printer.bed_width_mm, plate.printer.bed_depth_mm)
        for placement in plate.placements:
            corners = placed_corners(posed[placement.id], placement)
            assert (corners[:, :2] >= 0).all()
            assert (corners[:, :2] <= size).all()


def test_each_kind_is_stored_once(plan):
    """Eighteen copies of two kinds are two objects and eighteen items."""
    root = model_root(plan_plate_3mf(plan, plan.plates[2]))

    assert len(root.findall(f"{CORE}resources/{CORE}object")) == 2
    assert len(root.findall(f"{CORE}build/{CORE}item")) == 18
    assert root.get("unit") == "millimeter"


def test_translation_stands_last_as_the_specification_writes_it():
    """Core specification 1.4.0, section 3.3: m30 m31 m32 are the last three numbers."""
    from planner.nest.model import Placement

    at = Placement(id="a", x_mm=-19.999, y_mm=-62.998, rotation_deg=0)

    assert item_transform(at) == "1 0 0 0 1 0 0 0 1 -19.999 -62.998 0"


def test_package_has_the_parts_that_opc_asks_for(plan):
    """Content types, the root relationship and the model, all deflated, dated 1980."""
    with zipfile.ZipFile(io.BytesIO(plan_plate_3mf(plan, plan.plates[0]))) as package:
        entries = package.infolist()

    assert [e.filename for e in entries] == ["[Content_Types].xml", "_rels/.rels", MODEL_PART]
    assert {e.date_time for e in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert {e.compress_type for e in entries} == {zipfile.ZIP_DEFLATED}


def test_same_plate_gives_the_same_bytes():
    """Neither clock nor order of a set shows in the file."""
    one, other = make_plan(), make_plan()

    assert plan_plate_3mf(one, one.plates[2]) == plan_plate_3mf(other, other.plates[2])


def test_hostile_names_stay_names(hostile_plan):
    """Mark-up in a part's name is text in the file, and lib3mf still reads it."""
    content = plan_plate_3mf(hostile_plan, hostile_plan.plates[1])

    model, warnings = read_with_lib3mf(content)

    assert warnings == []
    names = {obj.get("name") for obj in model_root(content).iter(f"{CORE}object")}
    assert names == {HOSTILE.replace("\x1b", "\ufffd"), "=1+1"}
    assert model.GetBuildItems().Count() == 3
