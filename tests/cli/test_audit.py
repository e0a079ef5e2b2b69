"""`platewright audit`: its options, its exit codes, and the files it writes."""

import json
from pathlib import Path

import pytest

from planner.cli.main import run

GOOD = "material = PLA\nlayer height = 0.2\nwall count = 3\nnozzle temperature = 205\n"
WARNS = GOOD.replace("count = 3", "count = 2")
STOPS = GOOD.replace("= 205", "= 300")


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Write three settings files: sound, one wall short, far too hot."""
    monkeypatch.chdir(tmp_path)
    for name, text in (("good.ini", GOOD), ("warns.ini", WARNS), ("stops.ini", STOPS)):
        Path(name).write_text(text)
    return tmp_path


@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (["good.ini"], 0),
        (["warns.ini"], 0),
        (["stops.ini"], 1),
        (["."], 1),
        (["good.ini", "warns.ini"], 0),
        (["good.ini", "nope.ini"], 2),
        (["[gw]*.ini"], 0),
    ],
)
def test_only_a_stop_fails_the_batch(folder, arguments, code, capsys):
    """0 without, 1 with one, 2 where a file is not there."""
    assert run(["audit", *arguments]) == code


def test_a_refused_file_is_told_beside_the_audit_of_the_others(folder, capsys):
    """Exit 2, the problem on stderr, the table on stdout."""
    Path("bad.yaml").write_text("schema: platewright/settings/1\nwalls: many\n")

    assert run(["audit", "stops.ini", "bad.yaml"]) == 2
    printed = capsys.readouterr()
    assert "many" in printed.err
    assert "300 °C" in printed.out


def test_json_names_the_change_and_the_line(folder, capsys):
    """For a program to carry out."""
    run(["audit", "warns.ini", "--json"])
    (file,) = json.loads(capsys.readouterr().out)["files"]

    assert file["kind"] == "settings"
    assert file["read"]["walls"] == {"value": 2, "line": 3, "origin": "warns.ini:3"}
    (finding,) = [each for each in file["findings"] if each["level"] == "warn"]
    assert finding["change"] == {"key": "walls", "value": 3}


def test_another_guideline_by_name_and_by_file(folder, capsys):
    """The shipped one is stricter; the user's own asks nothing of walls."""
    Path("own.yaml").write_text("schema: platewright/guideline/1\nbase: everyday\ndrop: [walls]\n")

    assert run(["audit", "warns.ini", "--guideline", "load_bearing"]) == 1
    capsys.readouterr()
    run(["audit", "warns.ini", "--guideline", "own.yaml", "--json"])
    (file,) = json.loads(capsys.readouterr().out)["files"]
    assert not [each for each in file["findings"] if each["rule"] == "walls"]


def test_reasons_are_printed_when_asked_for(folder, capsys):
    """The short table has none."""
    run(["audit", "warns.ini"])
    assert "Why:" not in capsys.readouterr().out
    run(["audit", "warns.ini", "--why"])
    printed = capsys.readouterr().out
    assert "Why: walls carry more" in printed
    assert "source: common practice" in printed


class TestReports:
    """JUnit XML and SARIF, to files and to stdout."""

    def test_both_are_written_beside_the_table(self, folder, capsys):
        """And written again by the next run."""
        for _ in range(2):
            assert run(["audit", ".", "--junit", "out/a.xml", "--sarif", "out/a.sarif"]) == 1
        assert Path("out/a.xml").read_text().count("<testsuite ") == 3
        assert json.loads(Path("out/a.sarif").read_text())["version"] == "2.1.0"
        assert "300 °C" in capsys.readouterr().out
        assert sorted(path.name for path in Path("out").iterdir()) == ["a.sarif", "a.xml"]

    @pytest.mark.parametrize(("option", "begins"), [("--junit", "<?xml"), ("--sarif", "{")])
    def test_a_dash_is_stdout(self, folder, option, begins, capsys):
        """And nothing else is there."""
        run(["audit", "stops.ini", option, "-"])
        printed = capsys.readouterr().out

        assert printed.startswith(begins)
        assert "Findings" not in printed

    @pytest.mark.parametrize("name", ["good.ini", "notes.txt", "sub"])
    def test_what_is_not_a_report_of_ours_is_not_written_over(self, folder, name, capsys):
        """Neither an audited file, nor another, nor a folder; nothing at all is written."""
        Path("notes.txt").write_text("mine")
        Path("sub").mkdir()
        assert run(["audit", "good.ini", "--junit", "a.xml", "--sarif", name]) == 2
        assert Path("notes.txt").read_text() == "mine"
        assert Path("good.ini").read_text() == GOOD
        assert not Path("a.xml").exists()

    def test_force_replaces_a_file_that_is_not_ours(self, folder):
        """But not a file that is audited."""
        Path("notes.txt").write_text("mine")
        assert run(["audit", "good.ini", "--junit", "notes.txt", "--force"]) == 0
        assert Path("notes.txt").read_text().startswith("<?xml")
        assert run(["audit", "good.ini", "--junit", "good.ini", "--force"]) == 2
        assert Path("good.ini").read_text() == GOOD

    @pytest.mark.parametrize("out", ["words.yaml", "bad.ini", "hard.ini", "soft.ini"])
    def test_nothing_that_is_read_is_written_over(self, folder, out, capsys):
        """Not the user's words, nor a file that is refused, nor one under another name."""
        Path("words.yaml").write_text("schema: platewright/lexicon/1\n")
        Path("bad.ini").write_bytes(b"\x01\x02")
        Path("hard.ini").hardlink_to("good.ini")
        Path("soft.ini").symlink_to("good.ini")
        before = Path(out).read_bytes()
        arguments = ["good.ini", "bad.ini", "--lexicon", "words.yaml", "--force"]

        assert run(["audit", *arguments, "--junit", out]) == 2
        assert "a file that this audit reads" in capsys.readouterr().err
        assert Path(out).read_bytes() == before

    def test_a_refused_file_is_in_them(self, folder, capsys):
        """As an error, so that no reader takes the batch for whole."""
        Path("bad.yaml").write_text("schema: platewright/settings/1\nwalls: many\n")
        assert run(["audit", "good.ini", "bad.yaml", "--junit", "a.xml"]) == 2
        assert 'errors="1"' in Path("a.xml").read_text()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["good.ini", "--job", "job.yaml"], "--job without --part"),
        (["good.ini", "--part", "hook"], "--part without --job"),
        (["good.ini", "--json", "--sarif", "-"], "on stdout"),
        (["good.ini", "--junit", "-", "--sarif", "-"], "on stdout"),
        (["good.ini", "--junit", "a.x", "--sarif", "./a.x"], "--junit and --sarif into one file"),
        (["good.ini", "--fix", "x.ini", "--junit", "a.xml"], "--fix and --junit"),
        (["good.ini", "warns.ini", "--compare", "--sarif", "-"], "--compare and --sarif"),
        (["good.ini", "--printer", "nosuch"], "--printer"),
        (["good.ini", "--filament", ""], "--filament"),
        (["good.ini", "--guideline", ""], "--guideline"),
        (["good.ini", "--compare"], "--compare with 1 files"),
        (["good.ini", "warns.ini", "--fix", "x.ini"], "--fix with 2 files"),
        (["good.ini", "--fix", "good.ini"], "which is the original"),
        (["good.ini", "--fix", "good.ini", "--force"], "which is the original"),
        (["warns.ini", "--fix", "good.ini"], "no file of yours in the way"),
        (["good.ini", "--word", "nonsense"], "WORD=MEANING"),
        (["good.ini", "--lexicon", "nope.yaml"], "nope.yaml"),
        (["empty"], "no settings, jobs or toolpaths"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_line(folder, arguments, words, capsys):
    """Exit 2, nothing on stdout, nothing written."""
    Path("empty").mkdir()
    before = {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}

    assert run(["audit", *arguments]) == 2
    printed = capsys.readouterr()
    assert words in printed.err
    assert printed.out == ""
    assert before == {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}


def test_words_of_the_user_are_understood(folder, capsys):
    """An invented word is not guessed at; told what it means, it is read."""
    Path("odd.ini").write_text(WARNS.replace("wall count", "gloops"))
    run(["audit", "odd.ini", "--json"])
    (file,) = json.loads(capsys.readouterr().out)["files"]
    assert "walls" not in file["read"]

    run(["audit", "odd.ini", "--word", "gloops=wall count", "--json"])
    (file,) = json.loads(capsys.readouterr().out)["files"]
    assert file["read"]["walls"]["value"] == 2


def test_two_files_are_compared(folder, capsys):
    """On the screen and as JSON; a difference is no failure."""
    assert run(["audit", "--compare", "good.ini", "stops.ini"]) == 0
    assert "nozzle_c  205 °C  300 °C" in capsys.readouterr().out
    assert run(["audit", "--compare", "good.ini", "stops.ini", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert [(each["a"], each["b"]) for each in document["different"]] == [(205, 300)]
    assert document["same"] == 3


def test_a_toolpath_is_compared_by_its_comments(folder, capsys):
    """What it says of its settings, that is; it cannot be corrected."""
    lines = ["; wall count = 2", "; layer height = 0.2", "G1 X10 Y10 Z0.2 F900", "G1 X20 E1", ""]
    Path("plate.gcode").write_text("\n".join(lines))
    run(["audit", "--compare", "plate.gcode", "good.ini", "--json"])
    document = json.loads(capsys.readouterr().out)

    assert [(e["key"], e["a"], e["b"]) for e in document["different"]] == [("walls", 2, 3)]
    assert run(["audit", "plate.gcode", "--fix", "copy.gcode"]) == 2
    assert "found a toolpath file" in capsys.readouterr().err


def test_a_corrected_copy_is_written(folder, capsys):
    """The original stays; the copy has no stop any more."""
    assert run(["audit", "stops.ini", "--fix", "out/copy.ini", "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["changed"][0] | {"rule": ""} == {
        "key": "nozzle_c",
        "line": 4,
        "before": 300,
        "after": 220,
        "rule": "",
    }
    assert Path("stops.ini").read_text() == STOPS
    assert Path("out/copy.ini").read_text() == STOPS.replace("= 300", "= 220")
    assert run(["audit", "out/copy.ini"]) == 0


def test_a_copy_with_a_stop_left_fails(folder, capsys):
    """A guideline that stops for the material cannot be met by a value."""
    Path("own.yaml").write_text(
        "schema: platewright/guideline/1\n"
        "rules: {material: {exactly: petg, level: stop, why: a, source: b}}\n"
    )
    code = run(["audit", "good.ini", "--fix", "copy.ini", "--guideline", "own.yaml"])

    assert code == 1
    assert "a fact of the machine" in " ".join(capsys.readouterr().out.split())
