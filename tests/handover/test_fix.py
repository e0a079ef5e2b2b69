"""Corrected copies: what is at fault is replaced, all else stays byte for byte."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.audit.compare import Said
from planner.errors import InputError
from planner.handover.audits import Asked
from planner.handover.fix import fixed_content
from planner.handover.kinds import audit_file, fixed, said_by
from planner.handover.rewrite import rewritten

DIALECTS = {
    "plain.ini": """\
; a file of mine  \t
[print settings]
layer height = 0.20 mm   ; as drawn
wall count = 2
infill density = 5 %
nozzle temperature = 260
material = PLA
support = yes
foreign thing = 2
""",
    "pairs.conf": "layer_height: 0.2\nwall_count: 2\nfill_density: 5%\nmaterial: pla\n"
    "nozzle_temperature: 260\nenable_support: true\n",
    "tree.json": '{"layerHeight": 0.2, "wallCount": 2,\n  "infillDensity": "5%",\r\n'
    ' "material": "PLA", "nozzleTemperature": 260, "support": true, "note": "2"}\n',
    "tree.yaml": "# mine\nprint:\n  layer height: 0.2\n  wall count: 2   # quick\n"
    "  'infill density': \"5 %\"\n  material: PLA\n  nozzle temperature: 260\n  support: on\n",
    "tables.toml": 'material = "PLA"\n[print]\nlayer_height = 0.2\nwall_count = 2\n'
    'infill_density = "5 %"\nnozzle_temperature = 260\nsupport = true\n',
    "marks.xml": '<?xml version="1.0"?>\n<print>\n <!-- 2 -->\n <layerHeight>0.2</layerHeight>\n'
    " <wallCount>2</wallCount>\n <infillDensity>5 %</infillDensity>\n <material>PLA</material>\n"
    " <nozzleTemperature>260</nozzleTemperature>\n <support>true</support>\n</print>\n",
    "sheet.csv": "name,value,unit\nlayer height,0.2,mm\nwall count,2,\ninfill density,5,%\n"
    "material,PLA,\nnozzle temperature,260,°C\nsupport,yes,\n",
    "own.yaml": "schema: platewright/settings/1\nbase: everyday_020\n# quick\nwalls: 2  # two\n"
    "infill: 0.05\nnozzle_c: 260\nsupport: true\n",
}
AT_FAULT = {"walls": (2, 3), "infill": (0.05, 0.15), "nozzle_c": (260, 220)}


@pytest.fixture(params=DIALECTS)
def file(request, tmp_path):
    """Write a settings file with four faults."""
    path = tmp_path / request.param
    path.write_bytes(DIALECTS[request.param].encode())
    return path


def stops_and_warns(path):
    return [f for f in audit_file(path).findings if str(f.level) != "note"]


class TestEveryForm:
    """INI, pairs, JSON, YAML, TOML, XML, CSV and profiles of ours."""

    def test_the_copy_has_no_fault_left(self, file, tmp_path):
        """Audited again, nothing but notes is said."""
        assert {f.rule for f in stops_and_warns(file)} == {*AT_FAULT, "support"}
        result = fixed(file)
        copy = tmp_path / f"copy{file.suffix}"
        copy.write_bytes(result.content)

        assert stops_and_warns(copy) == []
        assert result.left == ()
        assert {d.key: (d.before, d.after) for d in result.done} == {
            **AT_FAULT,
            "support": (True, False),
        }

    def test_only_the_lines_at_fault_change(self, file):
        """Order, comments, quotes, blanks and line endings stay; so does the original."""
        before = file.read_bytes()
        result = fixed(file)
        old, new = before.split(b"\n"), result.content.split(b"\n")

        assert file.read_bytes() == before
        assert len(old) == len(new)
        changed = {n for n, (a, b) in enumerate(zip(old, new, strict=True), 1) if a != b}
        assert changed == {done.line for done in result.done}

    def test_what_the_copy_says_differs_only_where_it_should(self, file, tmp_path):
        """Read by the same reader: four values, and no other."""
        copy = tmp_path / f"copy{file.suffix}"
        copy.write_bytes(fixed(file).content)
        before, after = said_by(file), said_by(copy)

        assert before.as_written == after.as_written
        differing = {k for k in before.values if before.values[k] != after.values[k]}
        assert differing == {*AT_FAULT, "support"}

    def test_a_copy_is_a_fixed_point(self, file, tmp_path):
        """There is nothing to put right in it."""
        copy = tmp_path / f"copy{file.suffix}"
        copy.write_bytes(fixed(file).content)
        again = fixed(copy)

        assert again.done == ()
        assert again.content == copy.read_bytes()


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-be", "latin-1"])
def test_encodings_and_line_endings_stay(tmp_path, encoding):
    """Bytes outside the value are those of the original."""
    text = "# Größe\r\nlayer height = 0.2\r\nwall count = 2\r\nmaterial = PLA\r\n"
    mark = "\ufeff" if encoding == "utf-16-be" else ""
    path = tmp_path / "a.ini"
    path.write_bytes((mark + text).encode(encoding))
    wanted = (mark + text.replace("count = 2", "count = 3")).encode(encoding)

    assert fixed(path).content == wanted


def test_a_list_per_tool_is_changed_as_a_whole(tmp_path):
    """One value for both tools was read, so both are replaced."""
    path = tmp_path / "a.ini"
    path.write_text("wall count = 3\nmaterial = PLA\nnozzle temperature = 260;260\n")

    assert b"= 220;220\n" in fixed(path).content


def test_units_of_the_file_stay(tmp_path):
    """Percent, mm/min, µm and decimal commas are kept as they are."""
    path = tmp_path / "a.ini"
    path.write_text(
        "material = PLA\nnozzle diameter = 400 µm\nline width = 250 µm\nlayer height = 0,20 mm\n"
        "infill = 5 %\noutside wall speed = 30000 mm/min\n"
    )
    text = fixed(path).content.decode()

    assert "line width = 400 µm" in text
    assert "infill = 15 %" in text
    assert "layer height = 0,20 mm" in text
    # 12 mm3/s over (0.4 - 0.2) x 0.2 + pi 0.2^2 / 4 = 0.0714159 mm2 is 168.0 mm/s
    assert "outside wall speed = 10080 mm/min" in text


class TestLeft:
    """What one value cannot end is left to a person, with the reason."""

    def test_the_nozzle_and_the_material_are_facts(self, tmp_path):
        """A file does not change what is screwed on."""
        path = tmp_path / "a.ini"
        path.write_text(
            "nozzle diameter = 0.6\nlayer height = 0.2\nwall count = 3\nmaterial = PLA\n"
        )
        result = fixed(path)

        assert result.content == path.read_bytes()
        assert [(e.finding.rule, e.because) for e in result.left] == [
            ("nozzle_mm", "nozzle_mm is a fact of the machine, not only of the file")
        ]

    def test_a_value_of_the_base_is_not_in_the_file(self, tmp_path):
        """The line width of the base is too narrow for this nozzle."""
        path = tmp_path / "own.yaml"
        path.write_text("schema: platewright/settings/1\nbase: everyday_020\nnozzle_mm: 0.6\n")
        left = {e.finding.rule: e.because for e in fixed(path).left}

        assert left["line and nozzle"] == "line_width_mm does not stand in the file"

    def test_notes_change_nothing(self, tmp_path):
        """A first layer of 0.31 mm is noted by the guideline, and stays."""
        path = tmp_path / "a.ini"
        path.write_text("first layer height = 0.31\n")
        result = fixed(path)

        assert [str(f.level) for f in audit_file(path).findings] == ["note"]
        assert (result.content, result.done, result.left) == (path.read_bytes(), (), ())

    def test_lines_of_the_first_layer_follow_the_others(self, tmp_path):
        """Where they have no width of their own, one change is enough."""
        path = tmp_path / "own.yaml"
        path.write_text("schema: platewright/settings/1\nbase: everyday_020\nline_width_mm: 0.3\n")

        assert fixed(path).left == ()
        assert fixed(path).content.endswith(b"line_width_mm: 0.4\n")

    def test_a_value_that_cannot_be_is_left(self, tmp_path):
        """A nozzle of 9000 degrees is not read, and nothing is put in its place."""
        path = tmp_path / "a.ini"
        path.write_text("wall count = 2\nnozzle temperature = 9000\n")
        result = fixed(path)

        assert result.content == b"wall count = 3\nnozzle temperature = 9000\n"
        (left,) = result.left
        assert (left.finding.rule, left.because) == (
            "not read",
            "no single value of the file ends it",
        )

    def test_a_job_is_no_settings_file(self, tmp_path):
        """Nor is a printer."""
        path = tmp_path / "job.yaml"
        path.write_text("schema: platewright/job/1\nparts: {}\n")
        with pytest.raises(InputError, match="found a job file"):
            fixed(path)

    def test_rules_that_contradict_each_other_come_to_an_end(self):
        """Each wants what the other does not; the first is followed once, then both stand."""

        def read(content):
            value = float(content.decode().partition("=")[2])
            return Said(file="a", values={"walls": value}, lines={"walls": 1})

        def audit(changes):
            value = changes.get("walls", 2.0)
            wanted = 3.0 if value == 2.0 else 2.0
            return (_finding(wanted),)

        result = fixed_content(b"walls=2", file="a", audit=audit, read=read)

        assert result.content == b"walls=2"
        assert [(each.before, each.after) for each in result.done] == [(2, 3), (3, 2)]
        assert [each.because for each in result.left] == ["another rule wants another value"]


def _finding(wanted):
    from planner.audit.model import Change, Finding
    from planner.settings.model import Level

    return Finding(
        rule="walls",
        level=Level.WARN,
        part="",
        where="a",
        found="x",
        expected="y",
        why="z",
        remedy="r",
        source="s",
        change=Change(key="walls", value=wanted),
    )


class TestRewriting:
    """One value in a text of `key = value` lines."""

    def read(self, text):
        """Return the numbers of the lines, by name."""
        pairs = [line.partition("=") for line in text.splitlines()]
        try:
            values = {name.strip(): float(value.split("#")[0]) for name, _, value in pairs}
        except ValueError as error:
            raise InputError from error
        return Said(file="a", values=values, lines={name: n for n, name in enumerate(values, 1)})

    @settings(max_examples=60, deadline=None)
    @given(
        old=st.floats(0.01, 999).map(lambda x: round(x, 3)),
        new=st.floats(0.01, 999).map(lambda x: round(x, 3)),
        other=st.integers(0, 99),
    )
    def test_any_number_is_replaced_by_any_other(self, old, new, other):
        """Whatever stands on the other lines and in the comment; six digits are kept."""
        text = f"first={other}\nvalue={old} # {other}\nlast={old}\n"
        result = rewritten(text, "value", new, said=self.read(text), read=self.read)
        if old == new:
            assert result is None
            return

        assert result is not None
        assert self.read(result).values["value"] == pytest.approx(new, rel=1e-5)
        lines, others = result.splitlines(), text.splitlines()
        assert (lines[0], lines[2]) == (others[0], others[2])
        assert lines[1].partition("#")[1:] == others[1].partition("#")[1:]

    def test_a_number_that_says_two_things_is_left_alone(self):
        """One cannot be changed without the other."""

        def read(text):
            value = float(text.partition("=")[2])
            return Said(file="a", values={"top": value, "bottom": value}, lines={"top": 1})

        assert rewritten("both=2", "top", 3.0, said=read("both=2"), read=read) is None

    def test_a_value_that_does_not_come_out_is_not_written(self):
        """This reader takes nothing above 5 for what it is."""

        def read(text):
            return Said(
                file="a", values={"a": min(5.0, float(text.partition("=")[2]))}, lines={"a": 1}
            )

        assert rewritten("a=2", "a", 9.0, said=read("a=2"), read=read) is None
        assert rewritten("a=2", "a", 4.0, said=read("a=2"), read=read) == "a=4"

    def test_what_is_not_there_is_not_replaced(self):
        """The reader sees a value that no token of the line is: nothing is written."""
        text = "value=two\n"
        said = Said(file="a", values={"value": 2.0}, lines={"value": 1})
        assert rewritten(text, "value", 3.0, said=said, read=self.read) is None


def test_a_part_of_a_job_judges_the_settings(tmp_path):
    """The sample's hook wants PETG's infill; without the job the file is judged for itself."""
    job = Path(__file__).parents[2] / "samples" / "workshop" / "job.yaml"
    path = tmp_path / "a.ini"
    path.write_text("wall count = 2\n")
    asked = Asked(job=job, part="hook_single")
    audited = audit_file(path, asked)
    (walls,) = [finding for finding in audited.findings if finding.rule == "walls"]

    assert walls.part == "hook_single"
    assert walls.where == f"{path}:1"
    assert walls.remedy == f"set walls: 3 in {path}:1"
    assert fixed(path, asked).content == b"wall count = 3\n"
    assert {f.part for f in audited.findings} == {"hook_single"}


def test_a_part_that_is_not_there_is_refused(tmp_path):
    """With the nearest name."""
    job = Path(__file__).parents[2] / "samples" / "workshop" / "job.yaml"
    path = tmp_path / "a.ini"
    path.write_text("wall count = 2\n")
    with pytest.raises(InputError, match="did you mean hook_single"):
        audit_file(path, Asked(job=job, part="hook_singel"))


def test_links_to_the_original_are_the_original(tmp_path):
    """By name, symbolic or hard: never written over."""
    from planner.cli.audits import refuse_original

    path = tmp_path / "a.ini"
    path.write_text("wall count = 2\n")
    (tmp_path / "soft.ini").symlink_to("a.ini")
    os.link(path, tmp_path / "hard.ini")
    for name in ("a.ini", "soft.ini", "hard.ini", "../" + tmp_path.name + "/a.ini"):
        with pytest.raises(InputError, match="which is the original"):
            refuse_original(path, tmp_path / name)
    refuse_original(path, tmp_path / "other.ini")


def test_a_whole_profile_is_judged_for_a_part_with_its_mesh(tmp_path):
    """A brim of the profile holds the part, its nozzle fits no printer of the job."""
    job = Path(__file__).parents[2] / "samples" / "workshop" / "job.yaml"
    path = tmp_path / "own.yaml"
    path.write_text("schema: platewright/settings/1\nbase: sturdy_petg_020\nnozzle_mm: 0.6\n")
    rules = {f.rule for f in audit_file(path, Asked(job=job, part="hook_single")).findings}

    assert {"printers", "nozzle_mm", "line and nozzle"} <= rules
    with pytest.raises(InputError, match="a job file beside --job"):
        audit_file(job, Asked(job=job, part="hook_single"))
