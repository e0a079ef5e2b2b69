"""Forms and encodings: told by content, read with their lines."""

from __future__ import annotations

import pytest

from planner.settings.reader import read_foreign

FORMS = {
    "INI": "; ours\n[Layers]\nheight = 0.2 mm\n[Walls]\ncount = 3\n",
    "key = value": "layer height = 0.2 mm\nwall count = 3\n",
    "key: value": "layer height: 0.2 mm\nwall count: 3\n",
    "JSON": '{\n "layers": {"height": "0.2 mm"},\n "walls": {"count": 3}\n}',
    "YAML": "layers:\n  height: 0.2 mm\nwalls:\n  count: 3\n",
    "TOML": '[layers]\nheight = "0.2 mm"\n\n[walls]\ncount = 3\n',
    "XML": "<s>\n<layers><height unit='mm'>0.2</height></layers>\n"
    "<walls><count>3</count></walls></s>",
    "CSV": "layer height,0.2,mm\nwall count,3,\n",
    "comment lines": "; layer height = 0.2 mm\n; wall count = 3\n",
    "comments of a toolpath": "G28\n; layer height = 0.2 mm\n;wall count: 3\nG1 X1\nG1 X2\n",
}
LINES = {
    "INI": (3, 5), "key = value": (1, 2), "key: value": (1, 2), "JSON": (2, 3), "YAML": (2, 4),
    "TOML": (2, 5), "XML": (2, 3), "CSV": (1, 2), "comment lines": (1, 2),
    "comments of a toolpath": (2, 3),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_a_form_is_told_by_its_content_and_keeps_its_lines(form, full):
    reading = full(FORMS[form])

    assert reading.form == form
    assert {key: each.value for key, each in reading.read.items()} == {"layer_mm": 0.2, "walls": 3}
    assert tuple(reading.read[key].entry.line for key in ("layer_mm", "walls")) == LINES[form]


SAME = [
    "layer height = 0.2\r\nwall count = 3\r\n",
    "layer height\t0.2\twall\nwall count\t3\tx\n".replace("\twall", "\tmm"),
    "layer height    0.2 mm\nwall count      3\n",
    "layer height [mm];wall count\n0,2;3\n",
    "layer height;wall count\nmm;\n0.2;3\n",
    "name,value,unit\nlayer height,0.2,mm\nwall count,3,\n",
    "layers.height = 0.2\nwalls.count = 3\n",
    "layers/print/height = 0.2\nwalls/print/count = 3\n",
    "Layers > height = 0.2\nWalls > count = 3\n",
    '[{"key": "layer height", "val": 0.2}, {"key": "wall count", "val": "3"}]',
    '[{"layer height": 0.2}, {"wall count": 3}]',
    "- {layer height: 0.2}\n- {wall count: 3}\n",
    "- name: layer height\n  value: 0.2\n- name: wall count\n  value: 3\n",
    '<s><p name="layer height" value="0.2"/><p name="wall count">3</p></s>',
    '<s><layer height="0.2"/><wall count="3"/></s>',
    (
        "<s><p><name>layer height</name><value>0.2</value></p>"
        "<p><name>walls</name><value>3</value></p></s>"
    ),
    (
        '<?xml version="1.0" encoding="latin-1"?>\n'
        '<s><layerHeight value="0.2" unit="mm"/><walls>3</walls></s>'
    ),
    'layer = { height = 0.2 }\n"wall count" = 3\n',
    "[[print]]\nlayer_height = 0.2\nwall_count = 3\n",
]


@pytest.mark.parametrize("text", SAME)
def test_the_ways_to_write_a_form_say_the_same(text, read):
    assert read(text) == {"layer_mm": 0.2, "walls": 3}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-32", "latin-1"])
def test_the_usual_encodings_are_read_and_said(encoding, full):
    text = "Schichthöhe = 0,2 mm\nDüsentemperatur = 210 °C\n"
    reading = full(text.encode(encoding))

    assert {key: each.value for key, each in reading.read.items()} == {
        "layer_mm": 0.2,
        "nozzle_c": 210,
    }
    assert reading.encoding == encoding


def test_a_list_at_the_top_keeps_its_lines(full):
    yaml = full("# ours\n- name: layer height\n  value: 0.2\n- {walls: 3}\n").read
    json = full('[\n{"name": "layer height",\n"value": 0.2},\n{"walls": 3}]').read

    assert (yaml["layer_mm"].entry.line, yaml["walls"].entry.line) == (3, 4)
    assert (json["layer_mm"].entry.line, json["walls"].entry.line) == (3, 4)


def test_two_rows_of_a_table_that_disagree_are_ambiguous(full):
    reading = full("layer height,wall count\n0.2,3\n0.2,4\n")

    assert {key: each.value for key, each in reading.read.items()} == {"layer_mm": 0.2}
    assert "row to row" in reading.ambiguous[0].why


def test_a_heading_of_several_things_is_no_qualifier(read):
    """Under "walls" a line width is the walls'; under "layers and walls" it is everybody's."""
    assert not read("[Walls]\nline width = 0.4\n")
    assert read("[Layers and walls]\nline width = 0.4\n") == {"line_width_mm": 0.4}


def test_of_a_long_toolpath_both_ends_are_read(tmp_path):
    """10 MB of moves between two comments; remarks that come again and again are passed over."""
    move = "G1 X10.5 Y20.5 E0.1\n" * 25_000 + ";LAYER: 7\n"
    path = tmp_path / "plate.gcode"
    path.write_text("; layer height = 0.2\n" + move * 20 + "; wall count = 3\n")
    reading = read_foreign(path)

    assert {key: each.value for key, each in reading.read.items()} == {"layer_mm": 0.2, "walls": 3}
    assert reading.read["walls"].entry.line == 2 + 20 * 25_001
    assert not reading.not_understood


def test_moves_in_the_value_of_a_key_make_no_toolpath(read):
    text = (
        "layer height = 0.2\nstart = G28\nG1 Z5\nend = M84\nwalls = 3\nbrim width = 3\ninfill = 9\n"
    )

    assert read(text)["walls"] == 3
