"""The command as a person or a script meets it: exit codes, streams, files."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli.main import run
from planner.shipped import workshop_dir

JOB = workshop_dir() / "job.yaml"
PLAIN = ("--orient", "declared")  # the stresses are worked out in test_plan_orient.py
PANEL = workshop_dir() / "meshes" / "panel.stl"


QUICK = ("--seconds", "0.1", *PLAIN)
SMALL = f"""\
schema: platewright/job/1
name: half panels
start: 2026-11-27T18:00
time_zone: Europe/Lisbon
settings: everyday_020
parts:
  half: {{mesh: {workshop_dir()}/meshes/panel_half.stl, unit: mm, quantity: 3, colour: red}}
printers: [{{name: bench, profile: open_frame_220}}]
spools: [{{name: red 1, filament: pla, colour: red, left_g: 390}}]
attendance: [{{who: me, from: 2026-11-27T18:00, to: 2026-11-28T12:00}}]
"""


@pytest.fixture
def small(tmp_path):
    """Write a job that is planned in a second or two: the rules here hold for any job."""
    path = tmp_path / "job.yaml"
    path.write_text(SMALL, encoding="utf-8")
    return path


def test_start_never_overwrites(tmp_path, capsys):
    """An edited job file survives a second `start`, and the message says how to go on."""
    shop = tmp_path / "wall"
    assert run(["start", str(shop)]) == 0
    before = (shop / "job.yaml").read_bytes()
    (shop / "job.yaml").write_bytes(before + b"# mine\n")
    code = run(["start", str(shop)])

    assert code == 2
    assert "--force" in capsys.readouterr().err
    assert (shop / "job.yaml").read_bytes() == before + b"# mine\n"


def test_planning_again_replaces_our_own_files_only(small, capsys):
    """A plan may be renewed; a file that the user edited stops it before anything is written."""
    out = small.parent / "plan"
    arguments = ["plan", str(small), "--out", str(out), *QUICK]
    assert run(arguments) == 0
    assert run(arguments) == 0
    (out / "runs.csv").write_text("my notes\n", encoding="utf-8")
    capsys.readouterr()

    assert run(arguments) == 2
    assert "runs.csv" in capsys.readouterr().err
    assert (out / "runs.csv").read_text(encoding="utf-8") == "my notes\n"
    assert run([*arguments, "--force"]) == 0


@pytest.mark.parametrize(
    ("arguments", "schema"),
    [
        (["estimate", str(PANEL)], "platewright/estimate/1"),
        (["estimate", str(JOB)], "platewright/estimate/1"),
        (["audit", str(JOB)], "platewright/audit/1"),
        (["plan", "SMALL", *QUICK], "platewright/plan/1"),
    ],
)
def test_json_is_one_document_and_nothing_else(arguments, schema, small, capsys):
    """`--json` leaves stdout to a single document of the promised schema."""
    code = run([*(str(small) if word == "SMALL" else word for word in arguments), "--json"])

    printed = capsys.readouterr().out
    assert json.loads(printed)["schema"] == schema
    assert code in (0, 1)


def test_a_toolpath_is_estimated_as_it_is_written(tmp_path, capsys):
    """Four sides of 100 mm with 5 mm of strand each: lengths, strand and extents come back."""
    path = tmp_path / "square.gcode"
    sides = ["G1 X110 Y10 E5 F1800", "G1 X110 Y110 E10", "G1 X10 Y110 E15", "G1 X10 Y10 E20"]
    path.write_text("\n".join(["G21", "G90", "M82", "G1 X10 Y10 Z0.2 F6000", *sides, ""]))

    assert run(["estimate", str(path), "--json"]) == 0
    (entry,) = json.loads(capsys.readouterr().out)["toolpaths"]
    assert entry["laid_mm"] == pytest.approx(400)
    assert entry["filament_mm"] == pytest.approx(20)
    assert entry["extents_mm"] == [[10, 10, 0.2], [110, 110, 0.2]]
    assert entry["time_s"] > 400 / 30  # never quicker than the feed of 1800 mm/min
    assert run(["estimate", str(path)]) == 0
    assert "0.02 m" in capsys.readouterr().out


def test_a_stop_finding_ends_with_exit_code_1(small, capsys):
    """Done, but do not print: scripts can tell."""
    small.write_text(SMALL.replace("left_g: 390", "left_g: 10"), encoding="utf-8")

    assert run(["plan", str(small), *QUICK]) == 1
    said = capsys.readouterr().out
    assert "stop" in said
    assert "red" in said


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["plan", "no-such.yaml"], ["no-such.yaml"]),
        (["estimate", "no-such.stl"], ["no-such.stl"]),
        (["estimate", str(PANEL), "--up", "sideways"], ["--up", "sideways", "+z"]),
        (["estimate", str(PANEL), "--unit", "furlong"], ["furlong", "mm"]),
        (["estimate", str(PANEL), "--settings", "everyday_02"], ["everyday_02", "everyday_020"]),
        (["estimate", str(PANEL), "--printer", "enclosed"], ["enclosed"]),
        (["audit", "no-such.yaml"], ["no-such.yaml"]),
        (["nest", "no-such.json"], ["no-such.json"]),
        (["schedule", "no-such.json"], ["no-such.json"]),
        (["plan"], ["JOB_FILE"]),
        (["pln"], ["pln"]),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(arguments, words, capsys):
    """No traceback, the fault named, something to do."""
    assert run(arguments) == 2

    printed = capsys.readouterr()
    assert not printed.out
    assert "Traceback" not in printed.err
    assert all(word in printed.err for word in words)


def test_help_imports_nothing_heavy():
    """`--help` must answer at once, so the numeric libraries stay out of it."""
    heavy = ["jinja2", "manifold3d", "networkx", "numpy", "pydantic", "rich", "scipy", "shapely"]
    code = (
        "import sys; from planner.cli.main import run; run(['--help']);"
        f"print(sorted(set(sys.modules) & set({heavy!r})), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stderr.strip() == "[]"
    assert all(word in done.stdout for word in ("start", "plan", "estimate", "audit", "nest"))


def test_ctrl_c_leaves_with_130(monkeypatch, capsys):
    """An interrupted command says so and uses the shell's own code for it."""

    def interrupted(*_args, **_kwargs):
        raise KeyboardInterrupt

    monkeypatch.setattr("planner.job.load.load_job", interrupted)

    assert run(["plan", str(JOB)]) == 130
    assert "nothing was half-written" in capsys.readouterr().err


def test_a_reader_that_leaves_loses_no_plan(small):
    """`plan --out DIR | head -1`: the folder is written and the exit code is the plan's own."""
    command = [sys.executable, "-c", "from planner.cli import main; main()"]
    out = small.parent / "plan"
    arguments = ["plan", str(small), *QUICK, "--out", str(out)]
    with subprocess.Popen(command + arguments, stdout=subprocess.PIPE) as running:
        running.stdout.close()
        assert running.wait() == 0

    assert (out / "plan.html").is_file()


def test_a_full_disk_under_stdout_is_one_line():
    """What cannot be printed is said on stderr; a script sees that something was wrong."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-c", "from planner.cli import main; main()", "audit", str(JOB)],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )

    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "No space left" in done.stderr


@pytest.mark.parametrize(
    "arguments",
    [["plan", str(JOB), "--out", ""], ["start", ""], ["estimate", ""], ["nest", ""]],
)
def test_an_empty_path_is_not_the_current_folder(arguments, capsys):
    """A script's unset variable shall not write into whatever folder it stands in."""
    assert run(arguments) == 2
    assert "an empty path" in capsys.readouterr().err
