"""Reading scenario files: what a good one means, and what is said about a bad one."""

from __future__ import annotations

import math
import os
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barfit.catalogue import line_kinds
from barfit.model import (
    Bar,
    BarPlace,
    Body,
    Box,
    Capsule,
    ClipOn,
    ControlKind,
    Ellipsoid,
    FoundSlack,
    Hold,
    How,
    OutletPlace,
    PointPlace,
    Role,
    Setup,
    Side,
    Uncertainty,
)
from barfit.scenario import Problem, ScenarioError, bundled, dumps, load, loads
from barfit.scenario.problems import did_you_mean

CLIP_ONS = """[bars.new.clip_ons]
name = "clip-ons"
height = -30
forward = 10
outward = 28
length = 250
tube_diameter = 22.2
grip_diameter = 22.2
grip_length = 120
sweep = 8
downsweep = 6
"""


@pytest.fixture(scope="module")
def text(cruiser_path: Path) -> str:
    return cruiser_path.read_text(encoding="utf-8")


def edited(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new, 1)


def told(text: str) -> list[Problem]:
    with pytest.raises(ScenarioError) as caught:
        loads(text, "bike.toml")
    assert "Traceback" not in str(caught.value)
    return list(caught.value.problems)


def only(text: str) -> str:
    problems = told(text)
    assert len(problems) == 1, problems
    return str(problems[0])


# --- what a good file means --------------------------------------------------------------------


@pytest.mark.parametrize("path", bundled(), ids=lambda p: p.stem)
def test_every_bundled_machine_is_whole(path: Path) -> None:
    setup = load(path)
    assert "invented" in setup.machine.name.lower()
    assert "Invented" in setup.source.split("\n\n")[0]
    assert 6 <= len(setup.lines) <= 12
    assert setup.stock != setup.new
    roles = {solid.role for solid in setup.machine.solids}
    assert roles >= {Role.FORK_TUBE, Role.HEAD_TUBE, Role.TANK, Role.FRAME_TUBE, Role.SEAT}
    assert roles & {Role.HEADLAMP, Role.FAIRING}
    families = {line.kind for line in setup.lines}
    assert {"switch_harness"} <= families
    assert families & {"brake_hose", "front_brake_cable"}
    assert families & {"clutch_cable", "clutch_hose"}
    assert families & {"throttle_pull", "throttle_single", "ride_by_wire_lead"}


def test_the_bundled_machines_differ_as_announced() -> None:
    setups = {path.stem: load(path) for path in bundled()}
    assert set(setups) == {
        "hidden-wires",
        "naked-standard",
        "old-twin",
        "tall-bar-cruiser",
        "touring-hydraulic",
    }
    touring = setups["touring-hydraulic"]
    assert Role.MODULATOR in {solid.role for solid in touring.machine.solids}
    assert any(
        solid.role is Role.FAIRING and solid.body is Body.STEERING
        for solid in touring.machine.solids
    )
    kinds = {name: {line.kind for line in setup.lines} for name, setup in setups.items()}
    assert {"clutch_hose", "ride_by_wire_lead"} <= kinds["touring-hydraulic"]
    assert {"clutch_cable", "throttle_pull", "throttle_return"} <= kinds["tall-bar-cruiser"]
    assert {"speedometer_cable", "front_brake_cable", "throttle_single"} <= kinds["old-twin"]
    assert not any("hose" in kind for kind in kinds["old-twin"])
    hidden = {name for name, setup in setups.items() if any(one.through_bar for one in setup.lines)}
    assert hidden == {"hidden-wires"}


def test_numbers_arrive_in_mm_and_rad(cruiser: Setup) -> None:
    machine = cruiser.machine
    assert machine.rake == math.radians(30)
    assert (machine.fork_length, machine.travel, machine.sag) == (740.0, 120.0, 45.0)
    assert machine.lock_left == machine.lock_right == math.radians(40)
    bar = cruiser.new.bar
    assert isinstance(bar, Bar)
    assert bar.rise == 355.6  # "14 in"
    assert bar.pullback == pytest.approx(266.7)
    assert cruiser.unit == "mm"


def test_stations_arrive_as_they_are_held(cruiser: Setup) -> None:
    hose = cruiser.line("front brake hose")
    first, guide, clip, _, last = hose.stations
    assert first.place == OutletPlace("front brake master cylinder", "hose")
    assert first.direction is None
    assert guide.hold is Hold.GUIDE
    assert isinstance(clip.place, PointPlace)
    assert clip.place.body is Body.STEERING
    assert (clip.hold, clip.at_length) == (Hold.CLIP, 610.0)
    assert last.direction is not None
    assert last.stub == 32.0
    tie = cruiser.line("left switch harness").stations[1].place
    assert tie == BarPlace(Side.LEFT, 270.0, from_centre=False, forward=0.0, up=-16.0)


def test_controls_and_solids_arrive(cruiser: Setup) -> None:
    throttle = next(c for c in cruiser.controls if c.kind is ControlKind.THROTTLE_HOUSING)
    assert throttle.side is Side.RIGHT
    assert [outlet.name for outlet in throttle.outlets] == ["pull", "return"]
    shapes = {type(solid.shape) for solid in cruiser.machine.solids}
    assert shapes == {Capsule, Ellipsoid, Box}


def test_what_a_line_leaves_out_comes_from_its_kind(text: str) -> None:
    shorter = edited(text, 'kind = "brake_hose"\ndiameter = 10\n', 'kind = "brake_hose"\n')
    line = loads(shorter).line("front brake hose")
    assert line.diameter == 10.0
    assert line.min_radius is None


def test_a_file_in_inches(text: str) -> None:
    inches = text.replace('unit = "mm"', 'unit = "in"').replace(
        "length = 740 ", 'length = "740 mm" '
    )
    problems = told(inches)  # everything else is 25 times too large now, and says so in inches
    assert "machine.fork.spread: 222 in is outside" in str(problems[1])
    assert not any("fork.length" in problem.place for problem in problems)


def test_clip_ons_need_no_riser(text: str) -> None:
    start, end = text.index("[bars.new.bar]"), text.index("# ---- Controls")
    setup = loads(text[:start] + CLIP_ONS + "\n" + text[end:])
    assert isinstance(setup.new.bar, ClipOn)
    assert setup.new.bar.height == -30.0
    assert setup.new.riser.height == 0.0


def test_a_bar_may_have_a_shoulder(text: str) -> None:
    shoulder = "[bars.new.bar.shoulder]\nhalf_width = 150\nheight = 200\nforward = -40\n\n"
    setup = loads(edited(text, "[bars.new.riser]", shoulder + "[bars.new.riser]"))
    assert isinstance(setup.new.bar, Bar)
    assert setup.new.bar.shoulder is not None
    assert setup.new.bar.shoulder.height == 200.0


def test_stations_may_stand_under_headings_of_their_own(text: str) -> None:
    start, end = text.index('[lines."throttle pull cable"]'), text.index('[lines."throttle return')
    spelled = """[lines."throttle pull cable"]
kind = "throttle_pull"
diameter = 5.5
length = 795

[[lines."throttle pull cable".stations]]
name = "throttle housing"
hold = "fitting"
control = "throttle housing"
outlet = "pull"

[[lines."throttle pull cable".stations]]
name = "guide right of the head tube"
hold = "guide"
on = "frame"
position = [5, -52, -95]

[[lines."throttle pull cable".stations]]
name = "throttle bracket"
hold = "fitting"
on = "frame"
position = [-335, -55, -205]
exit = [0.97, -0.1, 0.24]
stub = 25

"""
    assert loads(text[:start] + spelled + text[end:]) == loads(text)


def test_a_line_shorter_than_its_route_is_not_an_error(text: str) -> None:
    assert loads(edited(text, "length = 795", "length = 100")).lines[0].length == 100.0


def test_a_byte_order_mark_is_no_obstacle(text: str) -> None:
    assert loads("\ufeff" + text) == loads(text)


# --- what is said about a bad one --------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        # keys
        (
            'kind = "clutch_cable"\ndiameter = 8\nlength = 1180',
            'kind = "clutch_cable"\ndiameter = 8\nlength = 1180\nlenght = 3',
            "lines.\"clutch cable\": unknown key 'lenght'",
        ),
        ("rake = 30\n", "", "machine: 'rake' is missing"),
        ("rake = 30\n", "rake = 30\nrak = 1\n", "machine: unknown key 'rak'"),
        (
            "spread = 222 ",
            "sprad = 222 ",
            "machine.fork: unknown key 'sprad'; did you mean 'spread'?",
        ),
        ('title = "Tall', 'titel = "x"\ntitle = "Tall', "unknown key 'titel'"),
        ("[machine.wheel]", "[machine.weel]", "machine: unknown key 'weel'; did you mean 'wheel'?"),
        # types and numbers
        ("travel = 120\n", "travel = true\n", "machine.fork.travel: true is not a number"),
        ("travel = 120\n", "travel = nan\n", "machine.fork.travel: nan is not a usable number"),
        ("travel = 120\n", "travel = inf\n", "machine.fork.travel: inf is not a usable number"),
        ("travel = 120\n", "travel = [120]\n", "machine.fork.travel: a list is not a number"),
        ("travel = 120\n", 'travel = "tall"\n', "machine.fork.travel: 'tall' is not a length"),
        (
            "travel = 120\n",
            "travel = -120\n",
            "machine.fork.travel: -120 mm is outside 0 mm to 500",
        ),
        ("radius = 330", "radius = 0x" + "f" * 5000, "machine.wheel.radius: "),
        ("rake = 30\n", "rake = true\n", "machine.rake: true is not a number"),
        ("rake = 30\n", "rake = nan\n", "machine.rake: nan is not a usable number"),
        ('note = "Mid', 'note = 5 # "Mid', "machine.note: 5 is not a text"),
        ("lock_left = 40", "lock_left = 90", "machine.lock_left: 90° is outside 5° to 80°"),
        ("lock_right = 40", "lock_right = 0", "machine.lock_right: 0° is outside 5° to 80°"),
        ("lock_left = 40", 'lock_left = "1.6 rad"', "machine.lock_left: 1.6 rad is outside"),
        (
            'width = "33 in"',
            "width = 3200",
            "bars.new.bar.width: 3200 mm is outside 300 mm to 3000",
        ),
        (
            'width = "33 in"',
            'width = "11 ft"',
            "bars.new.bar.width: 11 ft is outside 300 mm to 3000",
        ),
        (
            "sag = 45 ",
            "sag = 130 ",
            "machine.fork.sag: 130 mm is more than the whole travel, 120 mm",
        ),
        (
            "bottom = 205",
            "bottom = 30",
            "machine.head_tube.bottom: 30 mm is not below the head tube's top, at 40 mm",
        ),
        (
            "lower_clamp = 233 ",
            "lower_clamp = 150 ",
            "machine.head_tube.bottom: 205 mm is below the lower clamp, at 150 mm",
        ),
        # words
        ('kind = "brake_hose"', 'kind = "brak_hose"', "did you mean 'brake_hose'?"),
        (
            'side = "right"',
            'side = "rigth"',
            "side: 'rigth' is not one of the words known here; did",
        ),
        ('role = "tank"', 'role = "fuel tank"', "role: 'fuel tank' is not one of the words known"),
        ('on = "lower fork"\nc', 'on = "fork"\nc', "on: 'fork' is not one of the words known here"),
        # solids
        ("capsule = { start = [39, 111, 22]", "kapsule = { start = [39, 111, 22]", "has no shape"),
        (
            "rounding = 70",
            "rounding = 170",
            "170 mm is more than half of the box's smallest side, 220 mm",
        ),
        ("semi_axes = [80, 90, 90]", "semi_axes = [80, 90]", "is not three lengths"),
        ("semi_axes = [80, 90, 90]", "semi_axes = [80, 90, 0]", "0 mm is outside"),
        # lines
        ("length = 1180", "length = 0", 'lines."clutch cable".length: 0 mm is outside 10 mm to'),
        ("length = 1180", "length = -5", 'lines."clutch cable".length: -5 mm is outside 10 mm to'),
        ('control = "clutch perch"', 'control = "cluch perch"', "did you mean 'clutch perch'?"),
        ('outlet = "pull"', 'outlet = "pul"', "has no outlet 'pul'; did you mean 'pull'?"),
        (
            'name = "release arm", hold = "fitting"',
            'name = "release arm", hold = "fiting"',
            "lines.\"clutch cable\".stations[5].hold: 'fiting' is not one of the words known here; "
            "did you mean 'fitting'?",
        ),
        (
            "position = [-235, 150, -640]",
            "position = [-235, 150]",
            'lines."clutch cable".stations[5].position: [-235, 150] is not three lengths',
        ),
        (
            "position = [-235, 150, -640]",
            "position = [-235, true, -640]",
            'lines."clutch cable".stations[5].position: true is not a number',
        ),
        ("exit = [1, 0, 0]", "exit = [0, 0, 0]", "points nowhere"),
        ("exit = [1, 0, 0], stub", "stub", "'exit' is missing"),
        (", at_length = 610", "", "'at_length' is missing"),
        ("at_length = 610", "at_length = 0", "0 mm is not beyond the first fitting"),
        (
            "at_length = 610",
            "at_length = 1010",
            "1005 mm is not beyond the clip 'clip on the lower clamp', at 1010 mm",
        ),
        (
            "at_length = 1005",
            "at_length = 1150",
            "1150 mm is beyond the end of the line, which is 1150 mm long",
        ),
        (
            'name = "release arm", hold = "fitting", on = "frame", position = [-235, 150, -640], '
            "exit = [1, 0, 0], stub = 30",
            'name = "release arm", hold = "guide", on = "frame", position = [-235, 150, -640]',
            "a line cannot end with a guide; its ends are fittings",
        ),
        (
            'hold = "guide", on = "frame", position = [15, 60, -120]',
            'hold = "fitting", on = "frame", position = [15, 60, -120], exit = [1, 0, 0]',
            "a fitting can only be the first or the last station",
        ),
        (
            'kind = "brake_hose"\n',
            'kind = "brake_hose"\nswivels = "no"\n',
            "'no' is neither true nor false; write one of them, bare",
        ),
        ("from_end = 270, ", "", "needs one distance along the bar"),
        (
            "from_end = 270, ",
            "from_end = 270, from_centre = 9, ",
            "needs one distance along the bar",
        ),
        ('side = "left", from_end', "from_end", "'side' is missing; 'left' or 'right'"),
        (
            'hold = "guide", on = "frame", position = [15, 60, -120]',
            'hold = "guide"',
            "does not say where it is; give 'control' and 'outlet', or 'on'",
        ),
        (
            'hold = "guide", on = "frame", position = [15, 60, -120]',
            'hold = "guide", on = "frame", position = [15, 60, -120], at_length = 50',
            "'at_length' does not belong here; a guide on the machine has none",
        ),
        ('"guide low on the down tube"', '"guide high on the down tube"', "is there twice"),
        ("position = [18, 78, -575]", "position = [62, 52, -400]", "is at the same place as"),
    ],
)
def test_one_mistake_is_told_with_place_and_hint(text: str, old: str, new: str, said: str) -> None:
    assert said in "\n".join(map(str, told(edited(text, old, new))))


def test_an_unknown_key_points_to_the_nearest_even_where_that_is_used(text: str) -> None:
    (problem,) = told(edited(text, "rake = 30\n", "rake = 30\nrak = 30\n"))
    assert str(problem) == "machine: unknown key 'rak'; did you mean 'rake'?"


def test_a_percentage_is_told_as_a_share(text: str) -> None:
    (problem,) = told(text + '\n[uncertainty]\nstiffness = "15 %"\n')
    assert (
        str(problem) == "uncertainty.stiffness: '15 %' is not a number; give a plain number, 0.15"
    )


def test_what_sits_on_a_bar_has_axes_of_its_own(text: str) -> None:
    (problem,) = told(text + '\n[controls."clutch perch".size]\nlever_tip = [136, 78]\n')
    assert problem.message == "[136, 78] is not three lengths [outward, forward, up]"


def test_a_mistake_in_the_fork_hides_no_other(text: str) -> None:
    wrong = edited(text, "travel = 120\n", "travel = 120\nspring = 3\n")
    sag = next(line for line in text.splitlines() if line.startswith("sag = "))
    said = [str(one) for one in told(edited(wrong, f"{sag}\n", "sag = 130\n"))]
    assert "machine.fork.sag: 130 mm is more than the whole travel, 120 mm" in said
    assert any("unknown key 'spring'" in one for one in said)


def test_a_single_problem_is_one_line(text: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        loads(edited(text, "lock_left = 40", "lock_left = 90"), "bike.toml")
    assert str(caught.value) == (
        "bike.toml: machine.lock_left: 90° is outside 5° to 80°; the steering of a motorcycle "
        "turns about 25° to 45° to each side"
    )


def test_all_mistakes_are_told_at_once(text: str) -> None:
    bad = edited(text, "rake = 30", 'rake = "steep"')
    bad = edited(bad, "spread = 222 ", "sprad = 222 ")
    bad = edited(bad, 'width = "33 in"', "width = 3200")
    bad = edited(bad, "inboard = 165", "inboard = -1")
    bad = edited(bad, 'kind = "brake_hose"', 'kind = "hose"')
    bad = edited(bad, "at_length = 1005", "at_length = 2000")
    bad = edited(bad, "exit = [1, 0, 0]", "exit = [0, 0, 0]")
    problems = told(bad)
    assert [problem.place for problem in problems] == [
        "machine.rake",
        "machine.fork",
        "machine.fork",
        "bars.new.bar.width",
        'controls."clutch perch".inboard',
        'lines."clutch cable".stations[5].exit',
        'lines."front brake hose".kind',
        'lines."front brake hose".stations[4].at_length',
    ]
    with pytest.raises(ScenarioError, match=r"^bike.toml: 8 problems\n  machine.rake: 'steep' is"):
        loads(bad, "bike.toml")


def test_a_control_with_a_mistake_is_not_called_unknown(text: str) -> None:
    assert "inboard" in only(edited(text, "inboard = 165", "inboard = -1"))


@pytest.mark.parametrize(
    ("stations", "said"),
    [
        ("[]", "is missing; a line needs a fitting at either end"),
        ("5", "5 is not a list of stations"),
        ("[5]", "stations[1]: 5 is not a table of keys"),
        (
            '[{ name = "a", hold = "fitting", control = "clutch perch", outlet = "cable" }]',
            "has only one station",
        ),
        (
            '[{ name = "a", hold = "fitting", control = "clutch perch", outlet = "cable" },'
            '{ name = "b", hold = "fitting", control = "clutch perch", outlet = "cable" }]',
            "stations[2]: is at the same place as 'a'",
        ),
        (
            '[{ name = "a", hold = "fitting", control = "clutch perch", outlet = "cable" },'
            '{ name = "g", hold = "guide", on = "frame", position = [0, 0, 0] },'
            '{ name = "b", hold = "fitting", control = "clutch perch", outlet = "cable" }]',
            "the line ends where it starts",
        ),
    ],
)
def test_stations_that_make_no_line(text: str, stations: str, said: str) -> None:
    start = text.index('[lines."clutch cable"]')
    head = text[start:].index("stations = [") + start
    end = text.index("\n]\n", head) + 3
    problems = told(f"{text[:head]}stations = {stations}\n{text[end:]}")
    assert said in str(problems[0])


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("machine", "5", "machine: 5 is not a table of keys"),
        ("bars", "[]", "bars: [] is not a table of keys"),
        ("controls", "{}", "controls: is empty"),
        ("lines", "{}", "lines: is empty"),
        ("lines", "{ clutch = 5 }", "lines.clutch: 5 is not a table of keys"),
        ("controls", "{ perch = true }", "controls.perch: true is not a table of keys"),
        ("unit", '"cm"', "unit: 'cm' is not a unit; write 'mm' or 'in'"),
        ("unit", "5", "unit: 5 is not a unit"),
        ("title", "5", "title: 5 is not a text"),
    ],
)
def test_a_table_of_the_wrong_kind(key: str, value: str, said: str) -> None:
    other = "" if key == "unit" else 'unit = "mm"\n'
    problems = told(f"format = 1\n{other}{key} = {value}\n")
    assert said in [str(problem)[: len(said)] for problem in problems]


def test_an_empty_file_says_how_one_starts() -> None:
    assert only("") == "'format' is missing; a scenario starts with 'format = 1'"


def test_what_a_bare_start_still_lacks() -> None:
    assert [str(problem) for problem in told("format = 1")] == [
        '\'unit\' is missing; write unit = "mm" or unit = "in"',
        "'machine' is missing",
        "'bars' is missing",
        "'controls' is missing",
        "'lines' is missing",
    ]


@pytest.mark.parametrize("value", ["0", "-1", "1.0", "true", '"1"', "[1]"])
def test_a_format_that_is_none(value: str) -> None:
    assert "is not one; a scenario starts with 'format = 1'" in only(f"format = {value}")


def test_a_newer_format_is_refused_in_plain_words(text: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        loads(edited(text, "format = 1", "format = 3\nshiny = true"), "bike.toml")
    assert str(caught.value) == (
        "bike.toml was written by a newer barfit (file format 3; this one reads up to 1); "
        "update barfit to open it"
    )


@pytest.mark.parametrize(
    ("broken", "place"),
    [
        ("format = 1\nunit = \n", "line 2, column 8"),
        ('format = 1\nunit = "mm\n', "line 2, column 11"),
        ("format = 1\nformat = 2\n", "line 2, column 11"),
    ],
)
def test_wrong_toml_is_told_with_line_and_column(broken: str, place: str) -> None:
    problem = told(broken)[0]
    assert problem.place == place
    assert problem.message.startswith("not TOML: ")


def test_wrong_toml_without_a_place() -> None:
    assert "not TOML" in only("format = 1\n[machine\n") or "not a TOML file" in only("[machine")
    assert only("x = " + "[" * 100_000) == "is nested too deeply"
    assert "is not a TOML file" in only("x = " + "9" * 5000)


@given(st.text(max_size=60))
def test_no_text_makes_the_reader_stumble(text: str) -> None:
    with pytest.raises(ScenarioError):
        loads("format = 1\n" + text)


# --- files -------------------------------------------------------------------------------------


def refused(path: Path) -> str:
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert len(caught.value.problems) == 1
    assert "\n" not in str(caught.value)
    return str(caught.value).removeprefix(str(path))


def test_a_file_that_is_missing(tmp_path: Path) -> None:
    assert refused(tmp_path / "none.toml") == " does not exist"
    assert refused(tmp_path / "no" / "folder.toml") == " does not exist"


def test_a_file_that_is_a_folder(tmp_path: Path) -> None:
    assert refused(tmp_path) == " is a folder; a scenario is a TOML file"


def test_a_file_of_50_mb_is_not_even_read(tmp_path: Path) -> None:
    path = tmp_path / "big.toml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    assert refused(path) == " is 50 MB; a scenario is a text file of at most 5 MB"


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "photo.toml"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe")
    assert refused(path) == " is not a UTF-8 text (byte 1); a scenario is a TOML file"


def test_a_name_no_file_can_have() -> None:
    assert "cannot be read" in refused(Path("a\0b.toml"))
    assert "cannot be read" in refused(Path("x" * 5000))


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such files")
def test_what_is_no_plain_file(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert refused(pipe) == " is not a file; a scenario is a TOML file"


@pytest.mark.skipif(
    sys.platform == "win32" or os.geteuid() == 0, reason="nothing is closed to this user"
)
def test_a_file_one_may_not_read(tmp_path: Path) -> None:
    path = tmp_path / "closed.toml"
    path.write_text("format = 1")
    path.chmod(0)
    assert "cannot be read: Permission denied" in refused(path)


# --- how sure ------------------------------------------------------------------------------------

SURE = """
[uncertainty]
tape = 2
eyeballed = "1/2 in"
angle = 1
stiffness = 0.2
"""
FOUND = "found_slack = { right = 41, left = 52, measured = 3 }\n"


def test_what_is_said_about_measuring_is_read(text: str) -> None:
    changed = edited(text, "length = 1180", f"length = 1180\nmeasured = 5\n{FOUND}")
    changed = edited(changed, "setback = 0", 'setback = 0\nmeasured = "eyeballed"')
    setup = loads(changed + SURE)
    assert setup.uncertainty == Uncertainty(2.0, 12.7, 3.0, math.radians(1.0), 0.2, 5.0)
    line = setup.line("clutch cable")
    assert line.measured == 5.0
    assert line.found_slack == FoundSlack(right=41.0, left=52.0, measured=3.0)
    assert setup.stock.riser.measured is How.EYEBALLED
    assert {station.measured for station in line.stations} == {How.TAPE}


def test_what_is_not_measured_is_read_and_written(text: str) -> None:
    changed = edited(text, "length = 1180", 'length = 1180\nmeasured = "not measured"')
    changed = edited(changed, "lock_left = ", 'measured = "not measured"\nlock_left = ')
    setup = loads(changed + "[uncertainty]\nunmeasured = 30\nunmeasured_angle = 4\n")
    assert setup.line("clutch cable").measured is How.NOT_MEASURED
    assert setup.machine.measured is How.NOT_MEASURED
    assert setup.uncertainty.of(How.NOT_MEASURED) == 30.0
    assert setup.uncertainty.angle_of(How.NOT_MEASURED) == math.radians(4.0)
    assert loads(dumps(replace(setup, source=""))) == setup


def test_a_file_that_says_nothing_of_it_counts_as_all_by_tape(cruiser: Setup) -> None:
    assert cruiser.uncertainty == Uncertainty()
    assert cruiser.uncertainty.tape == 3.0
    assert cruiser.uncertainty.eyeballed == 10.0
    assert all(line.found_slack is None for line in cruiser.lines)


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ('measured = "taped"', "'taped' is not a way to measure; did you mean 'tape'?"),
        ('measured = "by hand"', "'by hand' is not a way to measure; write 'tape', 'eyeballed' or"),
        ("measured = true", "true is not a way to measure"),
        ("measured = -3", "-3 mm is outside 0 mm to 500 mm"),
        ('measured = "3 cubits"', "unknown unit"),
        ("found_slack = {}", "says no slack; give one of 'right', 'straight' and 'left'"),
        ("found_slack = 12", "12 is not a table of keys"),
        ("found_slack = { ahead = 3 }", "unknown key 'ahead'"),
        ("found_slack = { left = -4 }", "-4 mm is outside 0 mm to 1000 mm"),
        ("found_slack = { left = 4, measured = 0 }", "nobody measures slack better than 0.1 mm"),
    ],
)
def test_what_is_wrong_about_measuring_is_told(text: str, wrong: str, said: str) -> None:
    told = only(edited(text, "length = 1180", f"length = 1180\n{wrong}"))
    assert 'lines."clutch cable"' in told
    assert said in told


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("tape = -1", "uncertainty.tape: -1 mm is outside 0 mm to 500 mm"),
        ("angle = 45", "uncertainty.angle: 45° is outside 0° to 30°"),
        ("stiffness = 30", "uncertainty.stiffness: 30 is outside 0 to 2"),
        ("found_slack = 0", "uncertainty.found_slack: 0 mm is outside"),
        ("eyes = 3", "uncertainty: unknown key 'eyes'"),
    ],
)
def test_a_bad_table_of_uncertainty_is_told(text: str, wrong: str, said: str) -> None:
    assert only(f"{text}\n[uncertainty]\n{wrong}\n").removeprefix("bike.toml: ").startswith(said)


def test_an_outlet_says_how_it_was_measured_at_the_control(text: str) -> None:
    at = 'outlet = "pull" }'
    told = only(edited(text, at, 'outlet = "pull", measured = 3 }'))
    assert "say it at the control and its outlet" in told


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("clutch_wire", "did you mean 'clutch_cable'?"),
        ("clutch_line", "did you mean 'clutch_hose'?"),
        ("brake_line", "did you mean 'brake_hose'?"),
        ("switch_loom", "did you mean 'switch_harness'?"),
        ("heated_grip_wire", "did you mean 'heated_grip_lead'?"),
        ("brake_cable", "did you mean 'front_brake_cable'?"),
        ("Throttle-Pull", "did you mean 'throttle_pull'?"),
        ("xyz", f"known: {', '.join(line_kinds())}"),
    ],
)
def test_another_word_of_the_trade_leads_to_the_kind_that_is_meant(typed: str, said: str) -> None:
    assert did_you_mean(typed, line_kinds()) == said
    near = ("left grip", "left grin", "right grip")
    assert did_you_mean("left gri", near) == "did you mean 'left grip' or 'left grin'?"
    assert did_you_mean("-_ -" * 40, line_kinds()).startswith("known: ")
