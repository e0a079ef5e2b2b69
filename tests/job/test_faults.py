"""What is wrong with a job is said with line, place, value, expectation and remedy."""

from __future__ import annotations

import re

import pytest

from planner.document.check import PROBLEMS_MAX
from planner.errors import InputError
from planner.job.faults import SUGGESTED_MAX


@pytest.fixture
def told(load):
    """Return a function that loads a faulty job and gives its problems."""

    def _told(data):
        with pytest.raises(InputError) as caught:
            load(data)
        return caught.value.problems

    return _told


def put(data, path, value):
    """Set (or with None remove) what is at a path such as ("parts", "key", "up")."""
    for key in path[:-1]:
        data = data[key]
    if value is None:
        del data[path[-1]]
    else:
        data[path[-1]] = value


KEY = ("parts", "key")
LOAD = {"force_n": [0, 0, -5], "on": "+z", "held": "-z"}
BARE = {"on": "+z", "held": "-z"}
WINDOW = {"who": "crew", "from": "2026-11-28T12:00", "to": "2026-11-28T15:00"}

# path, value (None removes), place, words in found, words in expected, words in remedy
FAULTS = [
    (("schema",), None, "schema", "no schema", "platewright/job/1", "add schema"),
    (("schema",), "platewright/job/2", "schema", "/2'", "platewright/job/1", "write"),
    (("name",), "a\nb", "name", "'a\\nb'", "without slashes, line breaks", "plain word"),
    (("name",), "", "name", "''", "some text", ""),
    (
        ("time_zone",),
        "Lisbon",
        "time_zone",
        "'Lisbon'",
        "tz database",
        "did you mean Europe/Lisbon?",
    ),
    (("time_zone",), "../etc/passwd", "time_zone", "passwd", "tz database", "continent/city"),
    *(
        (("time_zone",), name, "time_zone", name, "tz database", "continent/city")
        for name in ("localtime", "posixrules", "Factory")
    ),
    (("time_zone",), "posix/Europe/Lisbon", "time_zone", "'posix", "tz", "did you mean Europe/L"),
    (("start",), "Friday", "start", "'Friday'", "2026-11-27T18:00", "day that exists"),
    (("start",), 20261127, "start", "20261127", "text", "put it in quotes"),
    (("start",), "2027-03-28T01:30", "start", "clocks skip", "exists once", "2027-03-28T02:30"),
    (("deadline",), "2026-10-25T01:30", "deadline", "comes twice", "exists once", "say which"),
    (("deadline",), "2026-11-27T18:00", "deadline", "18:00", "after the start", "move one"),
    (("confidence",), 90, "confidence", "90", "from 0.5 to 0.9999", "in that range"),
    (("failure_rate",), 1, "failure_rate", "1", "from 0 to 0.9", "in that range"),
    (("hands_on_min",), -8, "hands_on_min", "-8 min", "from 0 to 240 min", "in that range"),
    (("edge_mm",), 1e-300, "edge_mm", "1e-300 mm", "0, or at least 1e-06 mm", "write 0"),
    (("clearance_mm",), "4 mm", "clearance_mm", "'4 mm'", "0 to 100 mm", "leave the unit out"),
    (("guideline",), "everyda", "guideline", "'everyda'", "a guideline", "did you mean everyday?"),
    (
        ("settings",),
        "studry_020",
        "settings",
        "'studry_020'",
        "profile",
        "did you mean sturdy_020?",
    ),
    (("settings",), 3, "settings", "3", "the name of a settings profile", "such as everyday_020"),
    (("settings",), {"base": "x_0"}, "settings.base", "'x_0'", "a settings profile", "known names"),
    (("settings",), {"walls": 3}, "settings", "without a base", "base", "add base"),
    (("parts",), {}, "parts", "an empty mapping", "at least 1", "write parts: {hook"),
    (("parts",), [], "parts", "an empty list", "a mapping", "write parts: {hook: {mesh"),
    (("parts", "a/b"), {"mesh": "meshes/key.stl"}, "parts.a/b", "'a/b'", "without slashes", ""),
    (KEY, "key.stl", "parts.key", "'key.stl'", "a mapping", ""),
    ((*KEY, "mesh"), None, "parts.key.mesh", "no mesh", "Mesh file", "add mesh"),
    ((*KEY, "mesh"), "meshes/kez.stl", "parts.key.mesh", "no file", "a mesh file", "key.stl?"),
    ((*KEY, "mesh"), "meshes/nope.stl", "parts.key.mesh", "no file", "a mesh file", "check the n"),
    ((*KEY, "mesh"), "meshes/key.obj", "parts.key.mesh", "no file", "a mesh file", "key.stl?"),
    ((*KEY, "mesh"), "mesh/key.stl", "parts.key.mesh", "no file", "a mesh file", "no folder mesh"),
    ((*KEY, "mesh"), "meshes", "parts.key.mesh", "no file", "a mesh file", "check the name"),
    ((*KEY, "mesh"), "meshes\\key.stl", "parts.key.mesh", "no file", "mesh", "meshes/key.stl"),
    ((*KEY, "mesh"), "a\0b", "parts.key.mesh", "'a\\x00b'", "a mesh file", "correct the path"),
    ((*KEY, "mesh"), "x" * 300, "parts.key.mesh", "looked at (File name too", "a mesh file", ""),
    ((*KEY, "mesh"), "x" * 300 + "/a", "parts.key.mesh", "looked at (", "mesh", "no folder"),
    ((*KEY, "settings"), "x" * 300 + "/a", "parts.key.settings", "looked at (", "path", ""),
    ((*KEY, "unit"), "inches", "parts.key.unit", "'inches'", "one of mm, cm", "did you mean inch?"),
    ((*KEY, "quantity"), -1, "parts.key.quantity", "-1", "from 0 to 10 000", "in that range"),
    ((*KEY, "quantity"), 10_001, "parts.key.quantity", "10001", "from 0 to 10 000", ""),
    ((*KEY, "quantity"), 2.5, "parts.key.quantity", "2.5", "a whole number", "a whole number"),
    ((*KEY, "quantity"), 1e5, "parts.key.quantity", "decimal", "a whole number", "write 100000"),
    ((*KEY, "quantity"), True, "parts.key.quantity", "true", "a whole number", ""),
    ((*KEY, "quantity"), "3", "parts.key.quantity", "'3'", "a whole number", "remove the quotes"),
    ((*KEY, "up"), "z", "parts.key.up", "'z'", "+x, -x, +y, -y, +z, -z", "such as +z"),
    ((*KEY, "up"), [0, 0, 0], "parts.key.up", "[0, 0, 0]", "not 0", "such as +z"),
    ((*KEY, "up"), [0, 1], "parts.key.up", "a list of 2", "three numbers", "such as +z"),
    ((*KEY, "up"), [0, 0, True], "parts.key.up", "a list of 3", "three numbers", "such as +z"),
    ((*KEY, "load"), 5, "parts.key.load", "5", "a load {force_n", "write load"),
    ((*KEY, "load"), [], "parts.key.load", "an empty list", "a load {force_n", "write load"),
    (
        (*KEY, "load"),
        {**LOAD, "on": "top"},
        "parts.key.load.on",
        "'top'",
        "a face: +x",
        "such as +z",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "on": "-z"},
        "parts.key.load",
        "on and held both -z",
        "different",
        "",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "force_n": [0, 0, 1e-300]},
        "parts.key.load",
        "1e-300 N",
        "at least 1e-06 N",
        "newtons",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "force_n": [0, 0, 0]},
        "parts.key.load",
        "0 N",
        "at least 1e-06 N",
        "newtons",
    ),
    ((*KEY, "load"), {**BARE}, "parts.key.load", "neither force_n nor", "a force, a moment", ""),
    (
        (*KEY, "load"),
        {**BARE, "moment_nmm": [0, 0, 0]},
        "parts.key.load",
        "0 N mm",
        "at least 1e-06 N",
        "",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "moment_nmm": [0, 2e9, 0]},
        "parts.key.load",
        "2e+09 N mm",
        "1 000 000 000",
        "newtons times",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "on": {"plane": {"point": [0, 0, 0], "normal": [0, 0, 0]}}},
        "parts.key.load.on.plane.normal",
        "[0, 0, 0]",
        "not 0",
        "such as +z",
    ),
    ((*KEY, "load"), {**LOAD, "down": "floor"}, "parts.key.load.down", "'floor'", "+x, -x", ""),
    ((*KEY, "load"), {**LOAD, "warm_c": 900}, "parts.key.load.warm_c", "900", "-50 to 300", ""),
    ((*KEY, "load"), {**LOAD, "force_n": 5}, "parts.key.load.force_n", "5 N", "a list", ""),
    (
        (*KEY, "load"),
        [LOAD, {**LOAD, "forec": 1}],
        "parts.key.load[1].forec",
        "'forec'",
        "held",
        "",
    ),
    (
        (*KEY, "load"),
        {**LOAD, "on": {"box": [[1, 0, 0], [0, 1, 1]]}},
        "parts.key.load.on",
        "a box from",
        "lowest",
        "smaller number of each axis first",
    ),
    (
        (*KEY, "settings"),
        {"infill": 15},
        "parts.key.settings.infill",
        "15",
        "0 to 1",
        "0.15 for 15 %",
    ),
    ((*KEY, "settings"), {"wals": 3}, "parts.key.settings.wals", "'wals'", "walls", "mean walls?"),
    (
        (*KEY, "settings"),
        {"material": "plaa"},
        "parts.key.settings",
        "'plaa'",
        "abs, asa",
        "mean pla?",
    ),
    ((*KEY, "exceptions"), {"walls": ""}, "parts.key.exceptions.walls", "''", "some text", ""),
    ((*KEY, "tags"), "wall", "parts.key.tags", "'wall'", "a list", ""),
    ((*KEY, "stage"), 0, "parts.key.stage", "0", "from 1 to 1 000", ""),
    ((*KEY, "mating"), "yes", "parts.key.mating", "'yes'", "true or false", "write true"),
    ((*KEY, "color"), "red", "parts.key.color", "'color'", "colour", "did you mean colour?"),
    (
        ("assemblies", "bay", "contains", "pannel"),
        1,
        "assemblies.bay.contains.pannel",
        "the unknown part 'pannel'",
        "of this file",
        "did you mean panel?",
    ),
    (
        ("assemblies", "bay", "contains"),
        {},
        "assemblies.bay.contains",
        "empty",
        "at least 1",
        "add",
    ),
    (("assemblies", "bay", "contains", "key"), 0, "assemblies.bay.contains.key", "0", "from 1", ""),
    (
        ("assemblies", "key"),
        {"contains": {"panel": 1}},
        "assemblies.key",
        "like a part",
        "",
        "rename",
    ),
    (
        ("assemblies", "bay", "contains", "wall"),
        1,
        "assemblies.bay",
        "bay -> wall -> bay",
        "end at parts",
        "take one of them out",
    ),
    (
        ("assemblies", "bay", "contains", "bay"),
        1,
        "assemblies.bay",
        "bay -> bay",
        "end at parts",
        "",
    ),
    (("printers",), [], "printers", "an empty list", "at least 1", "write printers: [{n"),
    (("printers",), None, "printers", "no printers", "The printers", "add printers: [{name"),
    (
        ("printers", 0, "profile"),
        "open_220",
        "printers[0].profile",
        "'open_220'",
        "",
        "open_frame_220?",
    ),
    (("printers", 0, "count"), 0, "printers[0].count", "0", "from 1 to 200", ""),
    (("printers", 0, "nozzle_mm"), 4, "printers[0].nozzle_mm", "4 mm", "from 0.1 to 3 mm", ""),
    (("printers", 0, "name"), "cupboard 2", "printers[1].name", "'cupboard 2'", "", "rename"),
    (
        ("printers", 0, "keep_out"),
        [{"x_mm": [0, 9], "y_mm": [200, 221]}],
        "printers[0].keep_out[0]",
        "y 200 to 221 mm",
        "0 to 220 mm by 0 to 220 mm",
        "front left corner",
    ),
    (("spools", 0, "filament"), "plaa", "spools[0].filament", "'plaa'", "filament", "mean pla?"),
    (("spools", 0, "left_g"), None, "spools[0]", "no weight", "either left_g", "write left_g"),
    (("spools", 0, "empty_g"), 200, "spools[0]", "left_g and empty_g", "either left_g", ""),
    (("spools", 1, "empty_g"), None, "spools[1]", "gross_g", "both gross_g and empty_g", ""),
    (("spools", 1, "gross_g"), 100, "spools[1]", "100 g under empty_g 230 g", "not below", "swap"),
    (("spools", 1, "name"), "grey 1", "spools[1].name", "'grey 1'", "of its own", "rename"),
    (("spools", 0, "left_g"), -3, "spools[0].left_g", "-3 g", "from 0 to 50 000 g", ""),
    *(
        (("attendance",), value, "attendance", found, "", "attendance: [{who: crew, from: 2026-")
        for value, found in (([], "an empty list"), ({}, "an empty mapping"), (None, "no att"))
    ),
    (
        ("attendance", 0, "to"),
        "2026-11-28T08:00",
        "attendance[0].to",
        "08:00",
        "after from",
        "swap",
    ),
    (("attendance", 0, "to"), None, "attendance[0].to", "no to", "Until", "add to"),
    (
        ("attendance", 1),
        {**WINDOW, "who": "x", "to": "2026-11-28T11:00"},
        "attendance[1].to",
        "",
        "",
        "",
    ),
    (
        ("attendance", 1),
        WINDOW,
        "attendance[1]",
        "until 2026-11-28T13:00 by line",
        "one place",
        "join",
    ),
    (
        ("attendance", 1),
        {"who": "x", "from": "2026-11-27T08:00", "to": "2026-11-27T18:00"},
        "attendance[1]",
        "until 2026-11-27T18:00",
        "after the start",
        "remove it",
    ),
]


@pytest.mark.parametrize("case", FAULTS, ids=lambda case: f"{case[0][-1]}-{case[1]!r}"[:40])
def test_each_fault_is_told_where_it_is(told, sound, case):
    path, value, place, found, expected, remedy = case
    put(sound, path, value)

    (problem,) = told(sound)

    assert problem.place == place
    assert found in problem.found
    assert expected in problem.expected
    assert remedy in problem.remedy
    assert problem.file == "job.yaml"
    assert problem.line
    assert "\n" not in str(problem)


def test_the_line_is_the_line_of_the_key(told):
    problems = told(
        "schema: platewright/job/1\nname: n\ntime_zone: UTC\nstart: 2026-11-27T18:00\n"
        "parts:\n  key:\n    mesh: meshes/key.stl\n    quantity: 1\n    up: up\n"
        "printers:\n  - name: a\n    profile: compact_18\n"
        "attendance:\n  - {who: a, from: 2026-11-27T18:00, to: 2026-11-27T19:00}\n"
    )

    assert [(problem.line, problem.place) for problem in problems] == [
        (9, "parts.key.up"),
        (12, "printers[0].profile"),
    ]


def test_faults_of_form_and_of_sense_are_told_together(told, sound):
    """One reading of the list of faults is enough to put them all right."""
    sound["time_zone"] = "Europe/Lisbn"
    sound["parts"]["panel"] |= {"mesh": "meshes/panle.stl", "up": "z", "wals": 3}
    sound["parts"]["key"]["settings"] = {"infill": 15}
    sound["assemblies"]["bay"]["contains"]["kee"] = 1
    sound["printers"][0]["profile"] = "compact"
    sound["printers"][1]["count"] = "two"
    sound["spools"][0]["filament"] = "pal"
    sound["guideline"] = "strict"

    places = [problem.place for problem in told(sound)]

    assert places == [
        "time_zone",
        "parts.panel.mesh",
        "parts.panel.up",
        "parts.panel.wals",
        "parts.key.settings.infill",
        "assemblies.bay.contains.kee",
        "printers[0].profile",
        "printers[1].count",
        "spools[0].filament",
        "guideline",
    ]


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("start", "Friday"),
        ("start", None),
        ("name", ""),
        ("name", None),
        ("schema", "platewright/job/2"),
        ("time_zone", "Lisbon"),
        ("time_zone", ""),
        ("time_zone", 3),
        ("time_zone", None),
        ("parts", []),
        ("parts", None),
        ("printers", []),
        ("printers", None),
        ("deadline", "Friday"),
    ],
)
def test_a_fault_in_one_key_does_not_hide_those_in_others(told, sound, key, value):
    put(sound, (key,), value)
    sound["attendance"][0]["to"] = "2026-11-28T08:00"
    sound["attendance"].append(WINDOW | {"who": "a", "to": WINDOW["from"]})
    sound["guideline"] = "strict"

    places = {problem.place for problem in told(sound)}

    assert places == {key, "attendance[0].to", "attendance[2].to", "guideline"}


@pytest.mark.parametrize("value", ["Lisbon", None])
def test_times_with_and_without_offset_are_not_compared_in_an_unknown_zone(told, sound, value):
    """18:00 in Lisbon may well be after 18:00+01:00, but an unknown zone cannot say."""
    put(sound, ("time_zone",), value)
    sound["attendance"][0] |= {"from": "2026-11-28T09:00", "to": "2026-11-28T09:00-08:00"}
    sound["attendance"][1] |= {"from": "2026-11-28T19:00", "to": "2026-11-28T19:00+08:00"}

    assert [problem.place for problem in told(sound)] == ["time_zone"]


def test_faulty_attendance_does_not_hide_the_rest(told, sound):
    sound["attendance"] = []
    sound["deadline"] = "2026-11-26T20:00"

    assert {problem.place for problem in told(sound)} == {"attendance", "deadline"}


def test_an_empty_key_is_answered_with_an_example(told):
    """Each example is sound where it stands: the job made of them all only lacks its mesh."""
    lines = ["schema: platewright/job/1", "name: n", "time_zone: UTC", "start: 2026-11-27T18:00"]
    empty = "\n".join([*lines, "parts:", "printers:", "attendance:"])

    problems = told(empty)

    assert [problem.found for problem in problems] == ["nothing"] * 3
    examples = [problem.remedy.removeprefix("write ") for problem in problems]
    (problem,) = told("\n".join([*lines, *examples]))
    assert problem.place == "parts.hook.mesh"


def test_a_part_with_a_fault_is_still_known_to_assemblies(told, sound):
    sound["parts"]["key"] = {"quantity": 1}

    assert [problem.place for problem in told(sound)] == ["parts.key.mesh"]


def test_nothing_wanted_is_asked_about(told, sound):
    sound["assemblies"]["wall"]["quantity"] = 0
    sound["parts"]["key"]["quantity"] = 0

    (problem,) = told(sound)

    assert "every quantity is 0" in problem.found
    assert problem.remedy == "add quantity: 1 to what you want"


def test_wanting_only_what_is_in_stock_is_no_fault(load, sound):
    sound["assemblies"]["wall"]["stock"] = 1

    load(sound)


def test_absurd_numbers_are_refused_before_anything_is_counted_out(told, sound):
    sound["assemblies"]["wall"]["contains"]["bay"] = 9000

    (problem,) = told(sound)

    assert problem.place == "parts.key"
    assert problem.found == "117 003 copies needed (most of 'key': 63 005)"
    assert problem.expected == "at most 10 000 copies to print in all"
    assert problem.remedy == "check quantities, counts under contains; or split the job"


def test_spares_count_among_the_copies(told, sound):
    """failure_rate 0.9 wants about ten copies for each good one."""
    sound |= {"failure_rate": 0.9, "confidence": 0.9999}
    sound["parts"]["key"]["quantity"] = 2000

    (problem,) = told(sound)

    assert problem.place == "parts.key"
    assert re.fullmatch(
        r"2 052 copies needed, and \d\d \d\d\d spares at failure_rate 0.9 "
        r"\(most of 'key': 2 030\)",
        problem.found,
    )
    assert problem.remedy.startswith("check quantities, counts under contains, failure_rate")


def test_ten_thousand_copies_in_all_are_allowed_and_one_more_is_not(load, told, sound):
    sound |= {"failure_rate": 0, "assemblies": {}}
    sound["parts"]["key"] |= {"quantity": 6000}
    sound["parts"]["panel"] |= {"quantity": 4002}

    load(sound)

    sound["parts"]["panel"]["quantity"] += 1
    (problem,) = told(sound)
    assert problem.found == "10 001 copies needed (most of 'key': 6 000)"


def test_numbers_beyond_all_sense_are_not_written_out(told, sound):
    """Multiplied through, 2000 assemblies in one another give 8000 digits."""
    last = 1999
    sound["assemblies"] = {
        f"a{i}": {"contains": {f"a{i + 1}" if i < last else "key": 10_000}} for i in range(last + 1)
    }
    sound["assemblies"]["a0"]["quantity"] = 1

    (problem,) = told(sound)

    assert problem.found.startswith("more than 1 000 000 000 copies needed")


def test_printers_are_counted_together(load, told, sound):
    sound["printers"][1]["count"] = 199
    assert len(load(sound).machines) == 200

    sound["printers"][0]["count"] = 2
    sound["printers"][0]["profile"] = "open_220"
    problems = told(sound)

    assert [problem.place for problem in problems] == ["printers", "printers[0].profile"]
    assert problems[0].found == "201 printers, every count added up"
    assert problems[0].expected == "at most 200 printers"


@pytest.mark.parametrize(
    ("key", "most"), [("attendance", 2000), ("spools", 2000), ("printers", 200)]
)
def test_lists_that_nobody_writes_by_hand_are_refused(told, sound, key, most):
    sound[key] = sound[key][:1] * (most + 1)

    (problem,) = told(sound)

    assert problem.place == key
    assert problem.found == f"a list of {most + 1}"
    assert problem.expected == f"at most {most} values"


def test_a_fault_in_a_profile_of_the_user_is_told_with_the_profile(told, sound, folder):
    (folder / "own.yaml").write_text(
        "schema: platewright/settings/1\nbase: delicate_012\nwalls: -2\n"
    )
    sound["settings"] = "own.yaml"

    (problem,) = told(sound)

    assert str(problem).startswith("own.yaml:3: walls: found -2, expected a whole number")


def test_many_overlaps_are_compared_with_the_neighbour_only(told, sound):
    """Each against each would be two million comparisons here, and as many faults."""
    sound["attendance"] = [WINDOW] * 2000

    problems = told(sound)

    assert len(problems) == PROBLEMS_MAX + 1
    assert problems[-1].found == f"{1999 - PROBLEMS_MAX} more faults"


def test_a_long_stay_overlaps_with_every_short_one_inside_it(told, sound):
    day = "2026-11-28T"
    sound["attendance"] = [
        {"who": "crew", "from": f"{day}08:00", "to": f"{day}20:00"},
        {"who": "crew", "from": f"{day}09:00", "to": f"{day}10:00"},
        {"who": "other", "from": f"{day}09:00", "to": f"{day}10:00"},
        {"who": "crew", "from": f"{day}11:00", "to": f"{day}12:00"},
        {"who": "crew", "from": f"{day}20:00", "to": f"{day}21:00"},
    ]

    assert [problem.place for problem in told(sound)] == ["attendance[1]", "attendance[3]"]


def test_the_overlap_is_told_at_its_own_place_after_a_faulty_window(told, sound):
    sound["attendance"][1:] = [{**WINDOW, "who": "x", "to": "2026-11-28T11:00"}, WINDOW]

    assert [problem.place for problem in told(sound)] == ["attendance[1].to", "attendance[2]"]


def test_the_nearest_name_is_looked_for_in_few_faults_only(told, sound):
    sound["assemblies"]["bay"]["contains"] = {f"pannel {i}": 1 for i in range(40)}

    remedies = [problem.remedy for problem in told(sound)]

    assert remedies[:SUGGESTED_MAX] == ["did you mean panel?"] * SUGGESTED_MAX
    assert remedies[SUGGESTED_MAX:] == ["correct the name"] * (40 - SUGGESTED_MAX)


def test_the_nearest_file_is_looked_for_in_few_faults_only(told, sound):
    extra = {f"p{i}": {"mesh": "meshes/panle.stl"} for i in range(40)}
    sound["parts"] = {**extra, **sound["parts"]}
    sound["spools"][0]["filament"] = "own/pla.yaml"

    problems = told(sound)

    assert [problem.remedy for problem in problems] == (
        ["did you mean panel.stl?"] * SUGGESTED_MAX + ["check the path"] * (41 - SUGGESTED_MAX)
    )


def test_a_faulty_default_is_told_once_not_once_per_part(told, sound):
    sound["settings"] = "nothing_like_it"

    assert len(told(sound)) == 1
