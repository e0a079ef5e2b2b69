"""The folder of a plan: complete or untouched, and never over the user's own files."""

import errno
import json
import os
import signal
import subprocess
import sys
import textwrap
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.report.safely import commit, copy_tree_safely, write_text_safely
from planner.report.write import MANIFEST, check_folder, plate_file_names, render_plan, write_plan


def tree(folder):
    """Return name -> content of every file under a folder, hidden ones too."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_promised_files_are_there(plan, tmp_path):
    """The contract's file names, one 3MF per plate, and nothing else but our list."""
    out = tmp_path / "weekend"

    paths = write_plan(plan, out, force=False)

    pages = {"plan.html", "visits.html", "sheets.html"}
    promised = pages | {"plan.json", "runs.csv", "parts.csv", "shopping.csv", "visits.ics"}
    plates = {f"plates/P{n}.3mf" for n in (1, 2, 3, 4)}
    assert set(tree(out)) == promised | plates | {MANIFEST}
    assert set(paths) == {out / name for name in promised | plates}


def test_list_holds_the_digest_of_every_file(plan, tmp_path):
    """The list is true: SHA-256 of what is on the disk."""
    write_plan(plan, tmp_path, force=False)

    files = tree(tmp_path)
    listed = json.loads(files.pop(MANIFEST))["files"]
    assert listed == {name: sha256(content).hexdigest() for name, content in files.items()}


def test_two_folders_are_byte_identical(plan, tmp_path):
    """Neither the clock nor the folder's name shows in any file."""
    write_plan(plan, tmp_path / "a", force=False)
    write_plan(plan, tmp_path / "b", force=False)

    assert tree(tmp_path / "a") == tree(tmp_path / "b")


def test_own_untouched_files_are_replaced_and_stale_plates_removed(plan, tmp_path):
    """A second run with fewer plates leaves no plate of the first behind."""
    write_plan(plan, tmp_path, force=False)
    shorter = replace(plan, plates=plan.plates[:3])

    write_plan(shorter, tmp_path, force=False)

    assert not (tmp_path / "plates/P4.3mf").exists()
    assert tree(tmp_path)["plan.json"] == render_plan(shorter)["plan.json"]


def test_an_edited_file_is_refused_and_nothing_changes(plan, tmp_path):
    """Notes somebody typed into runs.csv survive; the message names file and --force."""
    write_plan(plan, tmp_path, force=False)
    (tmp_path / "runs.csv").write_text("my notes")
    before = tree(tmp_path)

    with pytest.raises(InputError, match=r"runs\.csv: found .* --force") as caught:
        write_plan(replace(plan, plates=plan.plates[:3]), tmp_path, force=False)

    assert len(caught.value.problems) == 1
    assert tree(tmp_path) == before


def test_force_replaces_an_edited_file(plan, tmp_path):
    """Whoever asks for it gets it."""
    write_plan(plan, tmp_path, force=False)
    (tmp_path / "runs.csv").write_text("my notes")

    write_plan(plan, tmp_path, force=True)

    assert (tmp_path / "runs.csv").read_bytes() == render_plan(plan)["runs.csv"]


def test_every_foreign_file_in_the_way_is_named_at_once(plan, tmp_path):
    """Two files of the user's are two problems in one message."""
    (tmp_path / "plan.html").write_text("mine")
    (tmp_path / "parts.csv").write_text("mine too")

    with pytest.raises(InputError) as caught:
        write_plan(plan, tmp_path, force=False)

    assert [Path(p.file).name for p in caught.value.problems] == ["plan.html", "parts.csv"]
    assert set(tree(tmp_path)) == {"plan.html", "parts.csv"}


def test_an_edited_stale_plate_is_left_alone_even_with_force(plan, tmp_path):
    """What the user changed is the user's: it is not removed."""
    write_plan(plan, tmp_path, force=False)
    (tmp_path / "plates/P4.3mf").write_bytes(b"rearranged by hand")

    write_plan(replace(plan, plates=plan.plates[:3]), tmp_path, force=True)

    assert (tmp_path / "plates/P4.3mf").read_bytes() == b"rearranged by hand"


def test_a_forged_list_removes_nothing_outside_or_beside_the_plates(plan, tmp_path):
    """A list from elsewhere cannot make us delete other people's files."""
    out = tmp_path / "out"
    out.mkdir()
    victims = {"../victim.3mf": tmp_path / "victim.3mf", "notes.txt": out / "notes.txt"}
    for victim in victims.values():
        victim.write_bytes(b"dear")
    digest = sha256(b"dear").hexdigest()
    names = [*victims, "plates/../../victim.3mf", str(tmp_path / "victim.3mf")]
    forged = {"schema": "platewright/written/1", "files": dict.fromkeys(names, digest)}
    (out / MANIFEST).write_text(json.dumps(forged))

    write_plan(plan, out, force=False)

    assert all(victim.read_bytes() == b"dear" for victim in victims.values())


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"schema": 3}', b"\xff" * 9, b"[" * 9999])
def test_a_list_that_is_not_ours_is_refused_not_read(plan, tmp_path, content):
    """A broken or foreign list is the user's file like any other."""
    (tmp_path / MANIFEST).write_bytes(content)

    with pytest.raises(InputError, match="platewright"):
        write_plan(plan, tmp_path, force=False)

    assert tree(tmp_path) == {MANIFEST: content}


def test_a_file_in_place_of_the_folder_is_refused(plan, tmp_path):
    """One sentence, even with --force: a file is never turned into a folder."""
    (tmp_path / "out").write_text("mine")

    with pytest.raises(InputError, match="found a file, expected a folder"):
        write_plan(plan, tmp_path / "out", force=True)

    assert (tmp_path / "out").read_text() == "mine"


def test_a_folder_is_refused_before_the_work_too(plan, tmp_path):
    """Own files are no obstacle; an edited one and a file in place of the folder are."""
    out = tmp_path / "weekend"
    check_folder(out, force=False)
    write_plan(plan, out, force=False)
    check_folder(out, force=False)
    (out / "plan.html").write_text("mine")

    with pytest.raises(InputError, match=r"plan\.html"):
        check_folder(out, force=False)
    check_folder(out, force=True)
    with pytest.raises(InputError, match="a folder to write into"):
        check_folder(out / "runs.csv", force=True)


def test_a_link_is_refused_and_with_force_only_the_link_is_replaced(plan, tmp_path):
    """What a link points to is never written to."""
    out, precious = tmp_path / "out", tmp_path / "precious"
    out.mkdir()
    precious.write_text("mine")
    (out / "plan.json").symlink_to(precious)

    with pytest.raises(InputError, match="found a link"):
        write_plan(plan, out, force=False)
    write_plan(plan, out, force=True)

    assert precious.read_text() == "mine"
    assert not (out / "plan.json").is_symlink()


def test_a_link_to_the_very_content_we_wrote_is_still_a_link(plan, tmp_path):
    """Somebody moved the page elsewhere and linked to it: not ours to replace unasked."""
    out, elsewhere = tmp_path / "out", tmp_path / "plan.html"
    write_plan(plan, out, force=False)
    (out / "plan.html").rename(elsewhere)
    (out / "plan.html").symlink_to(elsewhere)

    with pytest.raises(InputError, match="found a link"):
        write_plan(plan, out, force=False)


def test_a_folder_of_plates_that_is_a_link_is_refused_even_with_force(plan, tmp_path):
    """The plates would land in another folder than the chosen one."""
    out, elsewhere = tmp_path / "out", tmp_path / "elsewhere"
    out.mkdir()
    elsewhere.mkdir()
    (out / "plates").symlink_to(elsewhere)

    with pytest.raises(InputError, match="outside the chosen folder"):
        write_plan(plan, out, force=True)

    assert not list(elsewhere.iterdir())


def test_a_folder_in_place_of_a_file_is_refused_even_with_force(plan, tmp_path):
    """A whole folder is never removed."""
    (tmp_path / "plan.json").mkdir()

    with pytest.raises(InputError, match="found a folder"):
        write_plan(plan, tmp_path, force=True)


class _Trips:
    """Let `calls` calls of a function through, then raise once."""

    def __init__(self, function, calls, error):
        def method(*args):  # a plain function, so that it binds like the one it stands for
            self.left -= 1
            if self.left == -1:
                raise error
            return function(*args)

        self.left, self.method = calls, method


FULL = OSError(errno.ENOSPC, "No space left on device")
DENIED = PermissionError(errno.EACCES, "Permission denied", "/out")


@pytest.mark.parametrize("error", [FULL, DENIED, KeyboardInterrupt()])
@pytest.mark.parametrize("calls", [0, 4, 8])
@pytest.mark.parametrize("where", ["fsync", "replace"])
@pytest.mark.parametrize("existing", [True, False])
def test_a_failure_half_way_leaves_everything_as_it_was(  # noqa: PLR0917 - fixtures and cases
    plan, tmp_path, monkeypatch, error, calls, where, existing
):
    """Disk full, no permission or Ctrl-C at any file: old files whole, no temporary names."""
    out = tmp_path / "out"
    small = [*(f"plates/P{n}.3mf" for n in range(5)), "plan.json", "plan.html", "runs.csv"]
    monkeypatch.setattr(
        "planner.report.write.render_plan",
        lambda told, _what_if: {n: told.job.name.encode() for n in small},
    )
    if existing:
        write_plan(plan, out, force=False)
    before = tree(tmp_path)
    home, name = (os, "fsync") if where == "fsync" else (Path, "replace")
    trip = _Trips(getattr(home, name), calls, error)
    monkeypatch.setattr(home, name, trip.method)

    expected = KeyboardInterrupt if isinstance(error, KeyboardInterrupt) else InputError
    with pytest.raises(expected) as caught:
        write_plan(replace(plan, job=replace(plan.job, name="new")), out, force=False)

    assert tree(tmp_path) == before
    assert out.exists() == existing
    if expected is InputError:
        (problem,) = caught.value.problems
        assert error.strerror.lower() in str(problem)
        assert "nothing was changed" in str(problem)


def test_a_full_disk_is_told_in_one_sentence(tmp_path):
    """Validation against a real limit of the system: files over 4 kB are refused by it."""
    script = textwrap.dedent("""
        import resource, signal, sys
        from pathlib import Path
        from planner.errors import InputError
        from planner.report.safely import write_text_safely
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        try:
            write_text_safely(Path(sys.argv[1]), "x" * 9000, force=True)
        except InputError as error:
            print(error)
    """)
    target = tmp_path / "plan.json"
    target.write_text("old")

    told = subprocess.run(
        [sys.executable, "-c", script, target], capture_output=True, text=True, check=True
    ).stdout

    assert "cannot be written (file too large)" in told
    assert tree(tmp_path) == {"plan.json": b"old"}


def test_ctrl_c_for_real_leaves_no_temporary_file(tmp_path):
    """A process that gets SIGINT while it writes ends with the old file in place."""
    script = textwrap.dedent("""
        import os, signal, sys
        from pathlib import Path
        from planner.report.safely import commit
        real = os.fsync
        def fsync(handle):
            real(handle)
            os.kill(os.getpid(), signal.SIGINT)
        os.fsync = fsync
        commit({Path(sys.argv[1]): b"new", Path(sys.argv[1] + "2"): b"new"})
    """)
    target = tmp_path / "plan.json"
    target.write_text("old")

    done = subprocess.run([sys.executable, "-c", script, target], capture_output=True, check=False)

    assert done.returncode == -signal.SIGINT
    assert tree(tmp_path) == {"plan.json": b"old"}


def test_files_follow_the_users_mask(tmp_path):
    """A new file may be read by whom the user's umask allows, not by the owner alone."""
    before = os.umask(0o027)
    try:
        write_text_safely(tmp_path / "a", "x", force=False)
    finally:
        os.umask(before)

    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


def test_one_text_file_is_refused_then_forced(tmp_path):
    """The smaller door has the same lock."""
    path = tmp_path / "made" / "job.yaml"
    write_text_safely(path, "one\n", force=False)

    with pytest.raises(InputError, match="--force"):
        write_text_safely(path, "two\n", force=False)
    assert path.read_text() == "one\n"

    write_text_safely(path, "two\n", force=True)
    assert path.read_text() == "two\n"


def test_a_pipe_is_refused_even_with_force(tmp_path):
    """Replacing a device or a pipe by a file would break it for everybody."""
    path = tmp_path / "pipe"
    os.mkfifo(path)

    with pytest.raises(InputError, match="a device or a pipe"):
        write_text_safely(path, "one", force=True)
    assert path.is_fifo()


def test_a_tree_is_copied_and_may_be_copied_again(tmp_path):
    """Links and caches stay behind; an unchanged copy is no obstacle to the next."""
    source = tmp_path / "source"
    (source / "meshes").mkdir(parents=True)
    (source / "__pycache__").mkdir()
    (source / "job.yaml").write_text("a")
    (source / "meshes/panel.stl").write_bytes(b"\0\1")
    (source / "__pycache__/x.pyc").write_bytes(b"")
    (source / "link").symlink_to(source / "job.yaml")

    paths = copy_tree_safely(source, tmp_path / "target", force=False)
    copy_tree_safely(source, tmp_path / "target", force=False)

    assert tree(tmp_path / "target") == {"job.yaml": b"a", "meshes/panel.stl": b"\0\1"}
    assert paths == (tmp_path / "target/job.yaml", tmp_path / "target/meshes/panel.stl")


def test_a_changed_file_stops_the_copy_before_it_begins(tmp_path):
    """The user's own job file is named, and the missing mesh is not brought in either."""
    source, target = tmp_path / "source", tmp_path / "target"
    source.mkdir()
    target.mkdir()
    (source / "a.stl").write_text("mesh")
    (source / "job.yaml").write_text("theirs")
    (target / "job.yaml").write_text("mine")

    with pytest.raises(InputError, match=r"job\.yaml"):
        copy_tree_safely(source, target, force=False)
    assert tree(target) == {"job.yaml": b"mine"}

    copy_tree_safely(source, target, force=True)
    assert tree(target) == {"a.stl": b"mesh", "job.yaml": b"theirs"}


def test_removal_is_undone_with_the_rest(tmp_path, monkeypatch):
    """A file that was to go is back if a later rename fails."""
    old = tmp_path / "old"
    old.write_text("old")
    trip = _Trips(Path.replace, 1, FULL)
    monkeypatch.setattr(Path, "replace", trip.method)

    with pytest.raises(InputError):
        commit({tmp_path / "new": b"new"}, remove=[old])

    assert tree(tmp_path) == {"old": b"old"}


def test_plate_files_are_named_safely():
    """No separators, no leading dots, no two that differ in capitals only."""
    names = plate_file_names(["P1", "p1", "../../etc/passwd", "..", "", "\u00e9\u00e8"])

    values = list(names.values())
    assert len({value.lower() for value in values}) == len(values)
    assert all(value.replace("-", "").isascii() and "/" not in value for value in values)
    assert not any(value.startswith((".", "-")) for value in values)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_second_signal_does_not_stop_the_undoing(tmp_path, monkeypatch, number):
    """However often somebody presses Ctrl-C: old files back, no temporary file, one exception."""
    old = tmp_path / "a.txt"
    old.write_bytes(b"old")
    rename, unlink = Path.replace, Path.unlink

    def pressed(path, *arguments, **options):
        os.kill(os.getpid(), number)
        return rename(path, *arguments, **options)

    def pressed_again(path, *arguments, **options):
        os.kill(os.getpid(), number)
        os.kill(os.getpid(), signal.SIGINT)
        return unlink(path, *arguments, **options)

    monkeypatch.setattr(Path, "replace", pressed)
    monkeypatch.setattr(Path, "unlink", pressed_again)
    expected = KeyboardInterrupt if number == signal.SIGINT else SystemExit
    with pytest.raises(expected):
        commit({old: b"new", tmp_path / "b.txt": b"new"})

    monkeypatch.undo()
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"a.txt": b"old"}
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
