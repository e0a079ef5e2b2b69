"""Whatever is not an ordinary, readable, short UTF-8 file is refused."""

from __future__ import annotations

import os
from errno import EACCES
from pathlib import Path

import pytest

from planner.document import read_yaml
from planner.document.files import remedy_for_missing, why_no_file
from planner.errors import InputError


def refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        read_yaml(path)
    return str(caught.value)


def test_a_missing_file_names_the_nearest(tmp_path):
    (tmp_path / "workshop.yaml").write_text("a: 1")

    assert "did you mean workshop.yaml?" in refusal(tmp_path / "workshp.yaml")


@pytest.mark.parametrize(
    ("missing", "there", "remedy"),
    [
        ("nosuch.yaml", "job.yaml", "check the name and the folder"),
        ("nope.stl", "panel.stl", "check the name and the folder"),
        ("panle.stl", "panel.stl", "did you mean panel.stl?"),
        ("panel.slt", "panel.stl", "did you mean panel.stl?"),
        ("Panel.STL", "panel.stl", "did you mean panel.stl?"),
        ("panle.obj", "panel.stl", "check the name and the folder"),
    ],
)
def test_an_ending_in_common_makes_no_name_alike(tmp_path, missing, there, remedy):
    (tmp_path / there).write_text("x")

    assert remedy_for_missing(tmp_path / missing) == remedy


def test_a_missing_folder_is_named(tmp_path):
    assert f"there is no folder {tmp_path / 'nowhere'}" in refusal(tmp_path / "nowhere" / "a.yaml")


def test_a_missing_file_among_others_is_just_missing(tmp_path):
    (tmp_path / "zzz.stl").write_text("x")

    assert "found no such file" in refusal(tmp_path / "job.yaml")


def test_a_folder_is_no_file(tmp_path):
    assert "found a folder" in refusal(tmp_path)


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.yaml")

    assert "found a device or a pipe" in refusal(tmp_path / "pipe.yaml")


def test_an_empty_file(tmp_path):
    (tmp_path / "a.yaml").write_text(" \n")

    assert "found an empty file" in refusal(tmp_path / "a.yaml")


def test_another_encoding_is_refused_with_its_line(tmp_path):
    (tmp_path / "a.yaml").write_bytes("a: 1\nb: grün".encode("latin-1"))

    assert ":2: found byte 0xfc, which is not UTF-8" in refusal(tmp_path / "a.yaml")


def test_a_huge_file_is_refused(tmp_path):
    (tmp_path / "a.yaml").write_bytes(b"#" * 5_000_001)

    assert "more than 5 MB" in refusal(tmp_path / "a.yaml")


def test_a_name_that_no_file_can_have():
    assert "cannot be opened" in refusal(Path("a\0b.yaml"))
    assert "cannot be opened" in refusal(Path("x" * 5000))


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_a_file_of_somebody_else(tmp_path):
    (tmp_path / "a.yaml").write_text("a: 1")
    (tmp_path / "a.yaml").chmod(0)

    assert "Permission denied" in refusal(tmp_path / "a.yaml")


def test_looking_at_a_path_never_raises(tmp_path, monkeypatch):
    (tmp_path / "a.yaml").write_text("a: 1")
    assert why_no_file(tmp_path / "a.yaml") == ""
    assert why_no_file(tmp_path) == "which is no file"
    assert why_no_file(tmp_path / "a.yaml" / "b") == "which is no file"
    assert why_no_file(tmp_path / "a\0b") == "which is no file"
    assert "which cannot be looked at (" in why_no_file(tmp_path / ("x" * 300))

    def forbidden(path, **_):
        raise PermissionError(EACCES, "Permission denied")

    monkeypatch.setattr(Path, "stat", forbidden)
    assert why_no_file(tmp_path) == "which cannot be looked at (Permission denied)"
    assert "there is no folder" in remedy_for_missing(tmp_path / "a")
