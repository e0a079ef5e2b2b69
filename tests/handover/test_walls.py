"""Walls of a job: what they need joins the job's demand, with its reason."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from planner.errors import InputError
from planner.handover.wall_findings import wall_findings
from planner.handover.walls import answer_for, built, counted_and_mounted, stages_of, with_walls
from planner.job.demand import needs
from planner.job.layout.load import load_walls
from planner.job.load import load_job
from planner.settings.model import Level
from planner.shipped import workshop_dir

WORKSHOP = workshop_dir()


@pytest.fixture
def written(tmp_path):
    """Return a function that writes the workshop's job with changes, and its path."""

    def _written(**changes):
        data = yaml.load((WORKSHOP / "job.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
        data = typed(data)
        for part in data["parts"].values():
            part["mesh"] = str(WORKSHOP / part["mesh"])
        for key, value in changes.items():
            data[key] = value
        path = tmp_path / "job.yaml"
        path.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
        return path

    return _written


def typed(data):
    """Give numbers and truth values back their types; times stay text, as the reader has them."""
    if isinstance(data, dict):
        return {key: typed(value) for key, value in data.items()}
    if isinstance(data, list):
        return [typed(value) for value in data]
    if data in ("true", "false"):
        return data == "true"
    if re.fullmatch(r"-?\d+", data):
        return int(data)
    return float(data) if re.fullmatch(r"-?\d*\.\d+", data) else data


def walled(written, **changes):
    """Return the job with the wall counted by shape, in place of the assembly tool_wall."""
    data = yaml.load((WORKSHOP / "job.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
    assemblies = typed(data["assemblies"])
    del assemblies["tool_wall"]
    wall = str(WORKSHOP / "wall.yaml")
    return written(**{"wall": wall, "assemblies": assemblies, **changes})


def test_the_shape_of_the_wall_needs_what_was_counted_by_hand(written):
    """The workshop's job states its board by hand; the rules of its system count the same."""
    by_hand = needs(load_job(WORKSHOP / "job.yaml"))
    by_shape = needs(with_walls(load_job(walled(written))))

    assert [(n.part, n.needed, n.from_stock, n.spares) for n in by_shape] == [
        (n.part, n.needed, n.from_stock, n.spares) for n in by_hand
    ]


def test_a_need_says_that_it_comes_from_the_wall(written):
    because = {n.part: n.because for n in needs(with_walls(load_job(walled(written))))}

    assert because["key"].startswith(
        "wall: 27 shared edges + 1 column x 1 = 1; less 2 in stock; plus "
    )
    assert because["trim_edge"].startswith("wall: 18 free edges; plus ")
    assert (
        "wall: 28 junctions (4 outer corners, 14 straight, 10 middle) + 1 column"
        in (because["standoff"])
    )


def test_stock_and_spares_count_for_walls_as_for_anything_else(written):
    """18 panels by the wall, 6 in stock: 12 to make; every panel in stock: none."""
    need = {n.part: n for n in needs(with_walls(load_job(walled(written))))}["panel"]

    assert (need.needed, need.from_stock) == (12, 6)
    assert need.to_print == 12 + need.spares
    assert need.spares >= 1


def test_walls_may_be_written_out_in_the_job(written):
    """As in a file of their own, less the schema."""
    text = (WORKSHOP / "wall.yaml").read_text("utf-8")
    wall = typed(yaml.load(text, Loader=yaml.BaseLoader))
    del wall["schema"]
    wall["system"] = str(WORKSHOP / "system.yaml")
    inside = needs(with_walls(load_job(walled(written, wall=wall))))

    assert inside == needs(with_walls(load_job(walled(written))))


def test_counting_twice_changes_nothing(written):
    once = with_walls(load_job(walled(written)))

    assert with_walls(once) is once


def test_a_job_without_walls_stays_as_it_is():
    job = load_job(WORKSHOP / "job.yaml")

    assert with_walls(job) is job


def test_walls_alone_are_wanted_enough(written):
    """No quantity above 0 anywhere: the wall is what is wanted."""
    data = typed(yaml.load((WORKSHOP / "job.yaml").read_text("utf-8"), Loader=yaml.BaseLoader))
    parts = {
        name: {**data["parts"][name], "mesh": str(WORKSHOP / data["parts"][name]["mesh"])}
        for name in ("panel", "key")
    }
    system = {
        "name": "plain",
        "pitch_mm": 100,
        "thickness_mm": 5,
        "joint_play_mm": 0.3,
        "rules": [{"part": "panel", "at": "cell"}, {"part": "key", "at": "shared edge"}],
    }
    wall = {"name": "w", "system": system, "walls": [{"name": "a", "columns": 3, "rows": 2}]}
    job = load_job(written(parts=parts, assemblies={}, wall=wall))

    assert [n.needed + n.from_stock for n in needs(with_walls(job))] == [6, 7]


def test_what_is_bought_is_counted_and_not_printed(written, tmp_path):
    system = typed(yaml.load((WORKSHOP / "system.yaml").read_text("utf-8"), Loader=yaml.BaseLoader))
    system["rules"].append({"part": "screw 5 x 50", "at": "fixing", "bought": True})
    (tmp_path / "system.yaml").write_text(yaml.safe_dump(system), encoding="utf-8")
    (tmp_path / "wall.yaml").write_text((WORKSHOP / "wall.yaml").read_text("utf-8"), "utf-8")
    answer = answer_for(walled(written, wall="wall.yaml"))
    screw = next(count for count in answer.counted.counts if count.bought)

    assert (screw.part, screw.count) == ("screw 5 x 50", len(answer.mounting.fixings))
    assert screw.because == "28 fixings"
    assert "screw 5 x 50" not in {need.part for need in answer.needs}


def test_what_is_bought_and_printed_as_well_is_refused(written, tmp_path):
    """It would be counted and never printed, and the kits would wait for it for ever."""
    system = (WORKSHOP / "system.yaml").read_text("utf-8")
    system = system.replace("{part: key, ", "{part: key, bought: true, ")
    (tmp_path / "system.yaml").write_text(system, encoding="utf-8")
    (tmp_path / "wall.yaml").write_text((WORKSHOP / "wall.yaml").read_text("utf-8"), "utf-8")

    with pytest.raises(InputError, match=r"system.yaml:\d+: found bought: true for 'key'"):
        load_job(walled(written, wall="wall.yaml"))


@pytest.mark.parametrize(
    ("wall", "words"),
    [
        ("wal.yaml", ["wall: found 'wal.yaml', which is no file", "did you mean wall.yaml?"]),
        ({"name": "w"}, ["wall.system", "no system"]),
    ],
)
def test_walls_that_cannot_be_read_are_refused_with_the_jobs_line(written, tmp_path, wall, words):
    (tmp_path / "wall.yaml").write_text("schema: platewright/wall/1\n", encoding="utf-8")
    with pytest.raises(InputError) as refusal:
        load_job(walled(written, wall=wall))

    for word in words:
        assert word in str(refusal.value)


def test_parts_that_the_job_does_not_know_are_named_where_they_stand(written, tmp_path):
    """A rule in the system's file, what hangs and what is listed in the wall's."""
    system = (WORKSHOP / "system.yaml").read_text("utf-8").replace("part: key", "part: kee")
    wall = (
        (WORKSHOP / "wall.yaml")
        .read_text("utf-8")
        .replace("thing: shelf", "thing: shelv")
        .replace("  column: 1", "  colum: 1")
    )
    (tmp_path / "system.yaml").write_text(system, encoding="utf-8")
    (tmp_path / "wall.yaml").write_text(wall, encoding="utf-8")
    with pytest.raises(InputError) as refusal:
        load_job(walled(written, wall="wall.yaml"))
    told = str(refusal.value).splitlines()

    assert len(told) == 3
    assert any(
        re.match(r".*system.yaml:\d+: .*'kee'.*did you mean key\?.*bought: true", line)
        for line in told
    )
    assert any(re.match(r".*wall.yaml:\d+: .*'shelv'.*did you mean shelf\?$", t) for t in told)
    assert any(re.match(r".*wall.yaml:\d+: .*'colum'.*did you mean column\?$", t) for t in told)


def test_more_copies_than_a_workshop_prints_are_refused(written, tmp_path):
    """A hundred by sixty panels: 6000 cells, but 23,000 keys, standoffs and caps."""
    wall = {
        "name": "w",
        "system": str(WORKSHOP / "system.yaml"),
        "walls": [{"name": "a", "columns": 100, "rows": 60}],
    }
    with pytest.raises(
        InputError, match=r"wall: found .* copies to print, expected at most 10 000"
    ):
        with_walls(load_job(walled(written, wall=wall)))


def test_an_assembly_is_ready_with_its_last_part():
    """The hung rail holds a rail of stage 3; the shelf only things of stage 2."""
    stages = stages_of(load_job(WORKSHOP / "job.yaml"))

    assert (stages["panel"], stages["shelf"], stages["hung_rail"]) == (1, 2, 3)
    assert stages["tool_wall"] == 3


def test_the_workshops_wall_can_be_mounted():
    """Nothing forbids it, and every junction has its screw."""
    counted, mounting = counted_and_mounted(load_walls(WORKSHOP / "wall.yaml"))

    assert len(mounting.fixings) == len(counted.panellings[0].junctions) == 28
    assert not [note for note in mounting.notes if note.startswith("stop")]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("schema: platewright/system/1\n", "expected a wall file"),
        ("schema: platewright/walls/1\nname: x\n", "expected platewright/wall/1"),
        ("name: x\n", "no schema"),
    ],
)
def test_other_files_are_refused(tmp_path, text, words):
    path = tmp_path / "x.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=re.escape(words)):
        answer_for(Path(path))


def test_a_job_without_walls_has_no_answer():
    with pytest.raises(InputError, match="a job without walls"):
        answer_for(WORKSHOP / "job.yaml")


def test_a_plan_warns_of_a_wall_that_must_not_be_mounted_so(written):
    """The shelf with 900 kg on it, in one screw's reach; and a cell that hangs apart."""
    wall = {
        "name": "w",
        "system": str(WORKSHOP / "system.yaml"),
        "walls": [
            {
                "name": "a",
                "mask": "##.#",
                "hung": [{"thing": "shelf", "cell": [1, 1], "weight_kg": 900, "out_mm": 100}],
            }
        ],
        "mounting": {"anchor": {"name": "plug", "rated_n": 400, "edge_mm": 0}},
    }
    job = load_job(walled(written, wall=wall))
    found = wall_findings(job, built(job))

    assert {finding.level for finding in found} == {Level.WARN, Level.NOTE}
    assert not any(finding.found.startswith("stop") for finding in found)
    (note,) = [finding for finding in found if finding.level is Level.NOTE]
    assert "piece 2 has 1 cell, column 4, row 1" in note.found
    sound = load_job(walled(written))
    assert wall_findings(sound, built(sound)) == ()
    assert wall_findings(load_job(WORKSHOP / "job.yaml"), None) == ()
