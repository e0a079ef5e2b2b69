"""Files, folders and patterns: which files are meant, and what becomes of those that are not."""

from pathlib import Path

import pytest

from planner.errors import InputError
from planner.handover.audits import Asked
from planner.handover.batch import audit_batch, choose
from planner.shipped import profiles_dir

PROFILE = "schema: platewright/settings/1\nbase: everyday_020\nwalls: {walls}\n"
INI = "[print]\nlayer height = 0.2\nwall count = 3\nnozzle temperature = 205\n"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Make a folder with all sorts of files."""
    monkeypatch.chdir(tmp_path)
    top = Path("shop")
    (top / "deep").mkdir(parents=True)
    (top / ".hidden").mkdir()
    (top / "b.yaml").write_text(PROFILE.format(walls=3))
    (top / "a.ini").write_text(INI)
    (top / "deep" / "c.yaml").write_text(PROFILE.format(walls=0))
    (top / ".hidden" / "d.ini").write_text(INI)
    (top / "mesh.stl").write_bytes(b"\0" * 200)
    (top / "notes.txt").write_text("Remember the milk.\n")
    (top / "printer.yaml").write_text("schema: platewright/printer/1\nbase: open_frame_220\n")
    return top


def names(chosen):
    return [path.as_posix() for path in chosen.files]


class TestChoosing:
    """Each file once, in a stable order."""

    def test_a_link_that_leads_to_itself_is_passed_over(self, folder):
        """And said so, as any file that cannot be audited."""
        (folder / "loop.ini").symlink_to("loop.ini")
        chosen = choose([folder])

        assert names(chosen) == ["shop/a.ini", "shop/b.yaml", "shop/deep/c.yaml"]
        assert any("shop/loop.ini" in remark for remark in chosen.remarks)

    def test_a_folder_stands_for_what_can_be_audited_below_it(self, folder):
        """Sorted; meshes, notes, printers and hidden files are passed over, and named."""
        chosen = choose([folder])

        assert names(chosen) == ["shop/a.ini", "shop/b.yaml", "shop/deep/c.yaml"]
        hidden, others = chosen.remarks
        assert hidden == "passed over, hidden: shop/.hidden"
        assert others.startswith("passed over, none of settings, jobs or toolpaths: shop/mesh.stl")
        assert others.endswith("shop/notes.txt and shop/printer.yaml")

    def test_of_the_shipped_profiles_only_the_settings_are_meant(self):
        """Printers, filaments, guidelines and the lexicon hold keys of settings, but are none."""
        profiles = profiles_dir()
        folders = {path.parent.name for path in choose([profiles]).files}

        assert folders == {"settings"}

    def test_a_pattern_stands_for_its_matches(self, folder):
        """Also across folders; sorted as well."""
        assert names(choose([Path("shop/*.yaml")])) == ["shop/b.yaml"]
        assert names(choose([Path("shop/**/*.yaml")])) == ["shop/b.yaml", "shop/deep/c.yaml"]
        assert names(choose([Path("shop/[ab].*")])) == ["shop/a.ini", "shop/b.yaml"]

    def test_a_file_whose_name_looks_like_a_pattern_is_that_file(self, folder):
        """What is there is meant."""
        odd = folder / "x[1].yaml"
        odd.write_text(PROFILE.format(walls=3))
        (folder / "x1.yaml").write_text(PROFILE.format(walls=3))

        assert names(choose([odd])) == ["shop/x[1].yaml"]

    def test_each_file_is_taken_once(self, folder):
        """However often it is named, also through a link."""
        (folder / "z.yaml").symlink_to("b.yaml")
        chosen = choose([folder / "b.yaml", folder, Path("shop/*.yaml")])

        assert names(chosen) == ["shop/b.yaml", "shop/a.ini", "shop/deep/c.yaml"]

    def test_a_named_file_is_always_meant(self, folder):
        """Its reader says what is wrong with it."""
        assert names(choose([folder / "mesh.stl"])) == ["shop/mesh.stl"]

    def test_a_linked_folder_is_not_followed(self, folder):
        """It may lead in a circle, or out of the folder."""
        outside = Path("outside")
        outside.mkdir()
        (outside / "far.ini").write_text(INI)
        (folder / "deep" / "again").symlink_to(folder.resolve(), target_is_directory=True)
        (folder / "deep" / "out").symlink_to(outside.resolve(), target_is_directory=True)

        assert len(choose([folder]).files) == 3

    @pytest.mark.parametrize(
        ("name", "words"),
        [
            ("shop/nope.ini", "no such file"),
            ("shop/*.nope", "no file of that pattern"),
            ("shop/*.stl", "no settings, jobs or toolpaths"),
            ("shop/.hidden/none", "no such file"),
            ("empty", "no settings, jobs or toolpaths"),
        ],
    )
    def test_nothing_found_is_an_error(self, folder, name, words):
        """One clear sentence each."""
        Path("empty").mkdir()
        with pytest.raises(InputError, match=words):
            choose([Path(name)])

    def test_all_that_is_missing_is_told_at_once(self, folder):
        """Two names, two problems."""
        with pytest.raises(InputError) as caught:
            choose([Path("nope.ini"), folder, Path("*.nope")])

        assert len(caught.value.problems) == 2


class TestBatch:
    """One faulty file does not stop the others."""

    def test_files_come_back_in_order_with_their_findings(self, folder):
        """The profile without walls is stopped."""
        batch = audit_batch(choose([folder]), Asked())

        assert [Path(file.file).name for file in batch.files] == ["a.ini", "b.yaml", "c.yaml"]
        stops = [[str(f.level) for f in file.findings].count("stop") for file in batch.files]
        assert stops == [0, 0, 1]
        assert batch.refused == ()

    def test_a_refused_file_is_kept_apart(self, folder):
        """With its problems; the rest is audited."""
        (folder / "broken.ini").write_bytes(b"\0\1\2" * 50)
        bad = folder / "bad.yaml"
        bad.write_text(PROFILE.format(walls="many"))
        batch = audit_batch(choose([folder / "b.yaml", bad]), Asked())

        assert len(batch.files) == 1
        (refused,) = batch.refused
        assert refused.file == "shop/bad.yaml"
        assert "many" in str(refused.problems[0])

    def test_a_printer_is_refused_where_it_is_named(self, folder):
        """It holds keys that settings have too, but says what it is."""
        with pytest.raises(InputError, match="write platewright/settings/1"):
            audit_batch(choose([folder / "printer.yaml"]), Asked())

    def test_nothing_but_refused_files_is_an_error(self, folder):
        """There is nothing to tell but the problems."""
        bad = folder / "bad.yaml"
        bad.write_text(PROFILE.format(walls="many"))
        with pytest.raises(InputError, match="many"):
            audit_batch(choose([bad]), Asked())
