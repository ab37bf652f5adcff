"""Saving scenario files: nothing is lost, nothing is touched that did not change."""

from __future__ import annotations

import difflib
import math
import os
import stat
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barfit.model import (
    Bar,
    BarPlace,
    BarSet,
    Body,
    ClipOn,
    FoundSlack,
    Fuelling,
    Hold,
    How,
    Line,
    PointPlace,
    Riser,
    Setup,
    Shoulder,
    Side,
    Station,
    Uncertainty,
)
from barfit.scenario import ScenarioError, bundled, dumps, load, loads, save

CRUISER = load(Path(__file__).parent.parent / "data" / "cruiser.toml")


@pytest.fixture
def setup() -> Setup:
    return CRUISER


def change(before: str, after: str) -> list[str]:
    """The lines that went and came, with their sign."""
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [line for line in lines if line[:3] not in ("---", "+++") and line[:2] != "@@"]


def with_line(setup: Setup, line_name: str, /, **changes: object) -> Setup:
    lines = tuple(
        replace(line, **changes) if line.name == line_name else line  # type: ignore[arg-type]
        for line in setup.lines
    )
    return replace(setup, lines=lines)


def with_bar(setup: Setup, **changes: object) -> Setup:
    assert isinstance(setup.new.bar, Bar)
    bar = replace(setup.new.bar, **changes)  # type: ignore[arg-type]
    return replace(setup, new=replace(setup.new, bar=bar))


# --- identity ----------------------------------------------------------------------------------


@pytest.mark.parametrize("path", bundled(), ids=lambda p: p.stem)
def test_an_unchanged_setup_is_saved_with_the_same_bytes(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.toml"
    save(load(path), target)
    assert target.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("path", bundled(), ids=lambda p: p.stem)
def test_a_setup_without_a_source_is_written_afresh(path: Path) -> None:
    setup = load(path)
    fresh = dumps(replace(setup, source=""))
    assert loads(fresh) == setup
    assert dumps(loads(fresh)) == fresh


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_setup_is_the_same_whatever_unit_it_is_written_in(setup: Setup, unit: str) -> None:
    other = replace(setup, unit=unit)
    assert loads(dumps(other)) == other
    assert loads(dumps(replace(other, source=""))) == other


def test_line_ends_and_byte_order_mark_stay(setup: Setup, tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + setup.source.replace("\n", "\r\n").encode())
    before = path.read_bytes()
    read = load(path)
    assert read == setup
    save(read, path)
    assert path.read_bytes() == before
    save(with_line(read, "clutch cable", length=1200.0), path)
    assert path.read_bytes() == before.replace(b"length = 1180", b"length = 1200")


finite = st.floats(-1000, 1000, allow_nan=False)


@settings(max_examples=40)
@given(
    st.tuples(finite, finite, finite),
    st.floats(0.01, 0.6),
    st.floats(300, 3000),
    st.floats(1e-5, 0.01),
    st.sampled_from(["mm", "in"]),
)
def test_any_numbers_come_back_as_they_were(
    point: tuple[float, float, float],
    rake: float,
    width: float,
    weight: float,
    unit: str,
) -> None:
    guide = replace(CRUISER.lines[0].stations[1], place=PointPlace(Body.FRAME, point))
    first = CRUISER.lines[0]
    line = replace(first, stations=(first.stations[0], guide, first.stations[2]), weight=weight)
    setup = replace(
        with_bar(CRUISER, width=width),
        machine=replace(CRUISER.machine, rake=rake),
        lines=(line, *CRUISER.lines[1:]),
        unit=unit,
    )
    assert loads(dumps(setup)) == setup
    assert loads(dumps(replace(setup, source=""))) == setup


names = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp", "Zs", "Co", "Cn"]), min_size=1
)


@settings(max_examples=40)
@given(names, st.text(st.characters(exclude_categories=["Cs"])))
def test_any_name_and_note_come_back_as_they_were(name: str, note: str) -> None:
    if name in {line.name for line in CRUISER.lines}:
        return
    setup = replace(with_line(CRUISER, "clutch cable", name=name), note=note)
    assert loads(dumps(setup)) == setup
    assert loads(dumps(replace(setup, source=""))) == setup


# --- only what changed -------------------------------------------------------------------------


def test_a_changed_length_is_all_that_changes(setup: Setup) -> None:
    longer = with_line(setup, "front brake hose", length=1305.5)
    assert change(setup.source, dumps(longer)) == ["-length = 1150", "+length = 1305.5"]


def test_a_comment_on_the_line_stays(setup: Setup) -> None:
    wider = replace(setup, machine=replace(setup.machine, fork_spread=230.0))
    assert change(setup.source, dumps(wider)) == [
        "-spread = 222         # between the centres of the two tubes",
        "+spread = 230         # between the centres of the two tubes",
    ]


def test_spelling_stays_where_the_meaning_does(setup: Setup) -> None:
    narrower = with_bar(setup, width=800.0)
    text = dumps(narrower)
    assert change(setup.source, text) == ['-width = "33 in"', "+width = 800"]
    assert 'pullback = "10 1/2 in"' in text


def test_an_angle_is_written_in_degrees(setup: Setup) -> None:
    rolled = with_bar(setup, roll=math.radians(-4.5))
    assert change(setup.source, dumps(rolled)) == ["-roll = 0", "+roll = -4.5"]


def test_a_value_back_at_its_default_goes(setup: Setup) -> None:
    # "roll = 0" is spelled out in the file; once changed and changed back it need not be
    rolled = loads(dumps(with_bar(setup, roll=math.radians(5.0))))
    assert change(rolled.source, dumps(with_bar(rolled, roll=0.0))) == ["-roll = 5"]


def test_new_values_of_a_line_are_added(setup: Setup) -> None:
    braided = with_line(setup, "front brake hose", min_radius=35.0, note="braided")
    assert change(setup.source, dumps(braided)) == ["+min_radius = 35", '+note = "braided"']


def test_how_the_engine_gets_its_fuel_is_written_and_read(setup: Setup) -> None:
    injected = replace(setup, machine=replace(setup.machine, fuelling=Fuelling.INJECTION))
    text = dumps(injected)
    assert change(setup.source, text) == ['+fuelling = "injection"']
    assert loads(text).machine.fuelling is Fuelling.INJECTION
    with pytest.raises(ScenarioError, match="injection"):
        loads(text.replace('"injection"', '"injecton"'))


def test_how_a_line_takes_twist_is_written_and_read(setup: Setup) -> None:
    free = with_line(setup, "front brake hose", swivels=True, twisting_stiffness=25_000.0)
    text = dumps(free)
    assert change(setup.source, text) == ["+twisting_stiffness = 25000", "+swivels = true"]
    line = loads(text).line("front brake hose")
    assert (line.swivels, line.twisting_stiffness) == (True, 25_000.0)


def test_a_moved_station_changes_its_row_only(setup: Setup) -> None:
    hose = setup.line("front brake hose")
    moved = replace(hose.stations[1], place=PointPlace(Body.STEERING, (81.0, -46.0, 55.0)))
    edited = with_line(setup, hose.name, stations=(hose.stations[0], moved, *hose.stations[2:]))
    went, came = change(setup.source, dumps(edited))
    assert came[1:] == went[1:].replace("[81, -46, 40]", "[81, -46, 55]")


def test_a_removed_station_takes_its_row(setup: Setup) -> None:
    cable = setup.line("clutch cable")
    edited = with_line(setup, cable.name, stations=cable.stations[:2] + cable.stations[3:])
    (went,) = change(setup.source, dumps(edited))
    assert "guide high on the down tube" in went


def test_an_added_station_brings_its_row(setup: Setup) -> None:
    cable = setup.line("clutch cable")
    tie = Station("tie", Hold.GUIDE, BarPlace(Side.LEFT, 300.0, False, 0.0, -16.0))
    edited = with_line(setup, cable.name, stations=(cable.stations[0], tie, *cable.stations[1:]))
    assert change(setup.source, dumps(edited)) == [
        '+  { name = "tie", hold = "guide", on = "bar", side = "left", from_end = 300, up = -16 },'
    ]


def test_a_station_that_changes_its_hold(setup: Setup) -> None:
    cable = setup.line("clutch cable")
    guide = cable.stations[2]
    clip = replace(guide, hold=Hold.CLIP, direction=(0.0, 0.5, -1.0), at_length=600.0)
    stations = (*cable.stations[:2], clip, *cable.stations[3:])
    went, came = change(setup.source, dumps(with_line(setup, cable.name, stations=stations)))
    assert 'hold = "guide"' in went
    assert came == (
        '+  { name = "guide high on the down tube", hold = "clip", on = "frame", '
        "position = [62, 52, -400], direction = [0, 0.5, -1], at_length = 600 },"
    )


def test_a_removed_line_takes_its_own_comment_and_no_other(setup: Setup) -> None:
    text = dumps(replace(setup, lines=setup.lines[:3] + setup.lines[4:]))
    assert "Two clips part the hose" not in text
    assert change(setup.source, text) == [
        "-" + line for line in block(setup.source, "# Two clips", '[lines."left switch')
    ]
    text = dumps(replace(setup, lines=setup.lines[:2] + setup.lines[3:]))
    assert "Two clips part the hose" in text


def test_the_title_of_a_section_outlives_its_first_table(setup: Setup) -> None:
    text = dumps(replace(setup, lines=setup.lines[1:]))
    assert "# ---- Lines ---" in text
    assert text.index("# ---- Lines ---") < text.index('[lines."throttle return cable"]')
    machine = replace(setup.machine, solids=setup.machine.solids[3:])
    assert "# What the lines must not pass through" in dumps(replace(setup, machine=machine))


def test_reordered_lines_keep_their_comments(setup: Setup) -> None:
    setup = replace(setup, lines=(setup.lines[3], *setup.lines[:3], *setup.lines[4:]))
    text = dumps(setup)
    assert loads(text) == setup
    assert loads(text).lines[0].name == "front brake hose"
    title, comment = text.index("# ---- Lines ---"), text.index("# Two clips part the hose")
    assert title < comment < text.index('[lines."front brake hose"]')


def test_reordered_tables_keep_their_names_as_they_are_written(setup: Setup) -> None:
    assert '[machine.solids."seat"]' in setup.source  # quotes are not needed, but were written
    machine = replace(setup.machine, solids=setup.machine.solids[::-1])
    text = dumps(replace(setup, machine=machine))
    assert '[machine.solids."seat"]' in text
    assert sorted(text.splitlines()) == sorted(setup.source.splitlines())


def test_an_added_line(setup: Setup) -> None:
    lead = Line(
        "charger lead",
        "accessory_lead",
        4.0,
        700.0,
        (
            setup.lines[0].stations[0],
            Station(
                "plug",
                Hold.FITTING,
                PointPlace(Body.FRAME, (-200.0, -30.0, -110.0)),
                direction=(1.0, 0.0, 0.0),
                stub=10.0,
            ),
        ),
    )
    text = dumps(replace(setup, lines=(*setup.lines, lead)))
    assert text.startswith(setup.source)
    assert text[len(setup.source) :].startswith('\n[lines."charger lead"]\nkind = "accessory')
    first = replace(setup, lines=(lead, *setup.lines))
    assert loads(dumps(first)) == first
    assert dumps(first).index("# ---- Lines") < dumps(first).index("charger lead")


def test_a_bar_that_gets_a_shoulder_and_loses_it(setup: Setup) -> None:
    shouldered = with_bar(setup, shoulder=Shoulder(150.0, 200.0, -40.0))
    text = dumps(shouldered)
    assert loads(text) == shouldered
    assert "[bars.new.bar.shoulder]" in text
    assert dumps(with_bar(loads(text), shoulder=None)).strip() == setup.source.strip()


def test_a_bar_that_becomes_clip_ons(setup: Setup) -> None:
    pair = ClipOn("clip-ons", -30.0, 10.0, 28.0, 250.0, 22.2, 22.2, 120.0, 0.14, 0.1)
    edited = replace(setup, new=BarSet(pair, Riser("none", 0.0)))
    text = dumps(edited)
    assert loads(text) == edited
    assert "[bars.new.clip_ons]" in text
    assert "[bars.new.bar]" not in text
    assert "# ---- Controls" in text


def test_comments_inside_a_list_of_stations_stay(setup: Setup) -> None:
    row = '  { name = "guide low on the down tube"'
    text = setup.source.replace(row, "  # the lower one, beside the horn\n" + row)
    read = loads(text)
    longer = dumps(with_line(read, "clutch cable", length=1200.0))
    assert "# the lower one, beside the horn" in longer


def test_stations_under_headings_of_their_own_can_come_and_go(setup: Setup) -> None:
    start = setup.source.index('[lines."throttle pull cable"]')
    end = setup.source.index('[lines."throttle return')
    head = '[lines."throttle pull cable"]\nkind = "throttle_pull"\ndiameter = 5.5\nlength = 795\n'
    rows = (
        'name = "throttle housing"\nhold = "fitting"\ncontrol = "throttle housing"\n'
        'outlet = "pull"',
        'name = "guide"\nhold = "guide"\non = "frame"\nposition = [5, -52, -95]',
        'name = "throttle bracket"\nhold = "fitting"\non = "frame"\n'
        "position = [-335, -55, -205]\nexit = [1, 0, 0]",
    )
    table = '\n[[lines."throttle pull cable".stations]]\n'
    spelled = head + "".join(table + row + "\n" for row in rows) + "\n"
    read = loads(setup.source[:start] + spelled + setup.source[end:])
    cable = read.lines[0]
    fewer = with_line(read, cable.name, stations=(cable.stations[0], cable.stations[2]))
    assert loads(dumps(fewer)) == fewer
    more = Station("second guide", Hold.GUIDE, PointPlace(Body.FRAME, (1.0, 2.0, 3.0)))
    longer = with_line(read, cable.name, stations=(*cable.stations[:2], more, cable.stations[2]))
    assert loads(dumps(longer)) == longer
    assert table in dumps(longer)


def test_a_source_that_is_no_scenario_is_replaced(setup: Setup) -> None:
    assert loads(dumps(replace(setup, source="not a scenario"))) == setup


def test_a_setup_no_file_can_hold_is_refused(setup: Setup) -> None:
    for impossible in (
        with_line(setup, "clutch cable", length=-5.0),
        with_line(setup, "clutch cable", kind="rope"),
        with_bar(setup, width=math.nan),
    ):
        with pytest.raises(ScenarioError):
            dumps(impossible)


def block(text: str, start: str, end: str) -> list[str]:
    return text[text.index(start) : text.index(end)].splitlines()


# --- files -------------------------------------------------------------------------------------


def test_saving_replaces_the_file_whole(setup: Setup, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("something else entirely")
    save(setup, path)
    assert load(path) == setup
    assert os.listdir(tmp_path) == ["mine.toml"]


def test_a_failed_save_leaves_the_old_file(
    setup: Setup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("the old file")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ScenarioError, match="cannot be written: No space left"):
        save(setup, path)
    assert path.read_text() == "the old file"
    assert os.listdir(tmp_path) == ["mine.toml"]


def test_where_nothing_can_be_written(setup: Setup, tmp_path: Path) -> None:
    with pytest.raises(ScenarioError, match="cannot be written: is a folder"):
        save(setup, tmp_path)
    with pytest.raises(ScenarioError, match="cannot be written: No such file"):
        save(setup, tmp_path / "none" / "mine.toml")


def test_a_write_protected_file_is_not_replaced(
    setup: Setup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("the old file")
    path.chmod(0o444)
    if os.geteuid() == 0:  # root may write to anything
        monkeypatch.setattr(os, "access", lambda file, mode: False)
    with pytest.raises(ScenarioError, match="cannot be written: is write-protected"):
        save(setup, path)
    assert path.read_text() == "the old file"
    assert os.listdir(tmp_path) == ["mine.toml"]


@pytest.mark.skipif(sys.platform == "win32", reason="folders cannot be opened there")
def test_file_and_folder_are_written_out_in_that_order(
    setup: Setup, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    written: list[tuple[bool, list[str]]] = []

    def fsync(handle: int) -> None:
        is_folder = stat.S_ISDIR(os.fstat(handle).st_mode)
        written.append((is_folder, [name for name in os.listdir(tmp_path) if name[0] != "."]))

    monkeypatch.setattr(os, "fsync", fsync)
    text = save(setup, tmp_path / "mine.toml")
    assert written == [(False, []), (True, ["mine.toml"])]
    assert (tmp_path / "mine.toml").read_text() == text


def test_a_name_as_long_as_names_may_be(setup: Setup, tmp_path: Path) -> None:
    path = tmp_path / f"{'m' * 250}.toml"
    save(setup, path)
    assert load(path) == setup


@pytest.mark.skipif(sys.platform == "win32", reason="modes and links are different there")
def test_mode_and_link_stay(setup: Setup, tmp_path: Path) -> None:
    path, link = tmp_path / "mine.toml", tmp_path / "link.toml"
    save(setup, path)
    path.chmod(0o640)
    link.symlink_to(path)
    save(with_line(setup, "clutch cable", length=1200.0), link)
    assert link.is_symlink()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert load(path).line("clutch cable").length == 1200.0


# --- how sure ------------------------------------------------------------------------------------


def measured(setup: Setup) -> Setup:
    """A setup that says of everything how it was found."""
    assert isinstance(setup.new.bar, Bar)
    new = BarSet(replace(setup.new.bar, measured=2.5), replace(setup.new.riser, measured=1.0))
    first = setup.controls[0]
    outlets = tuple(replace(outlet, measured=How.EYEBALLED) for outlet in first.outlets)
    controls = (replace(first, measured=4.0, outlets=outlets), *setup.controls[1:])
    line = setup.lines[0]
    stations = (line.stations[0], *(replace(s, measured=6.0) for s in line.stations[1:]))
    found = FoundSlack(right=41.5, straight=60.0, measured=How.EYEBALLED)
    line = replace(line, stations=stations, measured=How.TAPE, found_slack=found)
    return replace(
        setup,
        new=new,
        controls=controls,
        lines=(line, *setup.lines[1:]),
        uncertainty=Uncertainty(tape=2.0, angle=math.radians(1.5), stiffness=0.2),
    )


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_how_things_were_measured_comes_back(setup: Setup, unit: str) -> None:
    said = replace(measured(setup), unit=unit)
    assert loads(dumps(said)) == said
    assert loads(dumps(replace(said, source=""))) == said


def test_a_setup_that_says_nothing_of_measuring_writes_nothing_of_it(setup: Setup) -> None:
    fresh = dumps(replace(setup, source=""))
    for key in ("uncertainty", "measured", "found_slack"):
        assert key not in fresh


def test_found_slack_is_written_beside_what_is_there(setup: Setup) -> None:
    found = FoundSlack(right=12.0, left=9.0)
    text = dumps(with_line(setup, "clutch cable", found_slack=found))
    assert change(setup.source, text) == ["+found_slack = { right = 12, left = 9 }"]
    assert loads(text).line("clutch cable").found_slack == found
