"""The bench: how a check and a timing are judged and shown, and what is timed."""

from __future__ import annotations

import io
import math
from collections.abc import Callable

import numpy as np
import pytest
from rich.console import Console
from rich.table import Table

from barfit import bench
from barfit.bench import edit, frames, peer, space_checks
from barfit.bench.check import Check, Rule
from barfit.bench.growth import Growth, growth_table
from barfit.bench.relaxed import MISSING
from barfit.bench.speed import LINES, bundled_setup, twelve_lines
from barfit.bench.timing import Timing, timed
from barfit.geometry.pose import sweep_angles
from barfit.scene import PictureError


def text(table: Table) -> str:
    out = io.StringIO()
    Console(file=out, width=240).print(table)
    return out.getvalue()


@pytest.mark.parametrize(
    ("rule", "got", "passed"),
    [
        (Rule.WITHIN, 101.0, True),
        (Rule.WITHIN, 98.0, False),
        (Rule.WITHIN, math.nan, False),
        (Rule.NEAR, 100.005, True),
        (Rule.NEAR, 100.02, False),
        (Rule.AT_LEAST, 99.5, True),
        (Rule.AT_LEAST, 250.0, True),
        (Rule.AT_LEAST, 98.0, False),
        (Rule.AT_LEAST, math.nan, False),
        (Rule.AT_MOST, 99.0, True),
        (Rule.AT_MOST, 100.1, False),
        (Rule.AT_MOST, math.nan, False),
    ],
)
def test_check_is_judged_by_its_rule(rule: Rule, got: float, passed: bool) -> None:
    check = Check("case", "length, mm", "somebody 1900", 100.0, got, 0.01, rule)
    assert check.passed is passed
    assert "somebody 1900" in str(check)


def test_negative_expectations_keep_their_sense() -> None:
    assert Check("c", "q", "s", -10.0, -10.05, 0.01).passed
    assert not Check("c", "q", "s", -10.0, -9.0, 0.01, Rule.AT_MOST).passed


def test_timing_is_judged_by_its_target() -> None:
    assert Timing("a", 0.9e-3, target=1e-3).met is True
    assert Timing("a", 1.1e-3, target=1e-3).met is False
    assert Timing("a", 1e-3, None, "peer", 50e-3, 40).met is True
    assert Timing("a", 1e-3, None, "peer", 30e-3, 40).met is False
    assert Timing("a", 1e-3, None, "peer", 30e-3).met is None
    assert Timing("a", 1e-3, None, "peer", math.nan, 40).met is False


def test_timed_leaves_the_first_run_out() -> None:
    calls: list[int] = []
    assert timed(lambda: calls.append(1), 4) >= 0
    assert len(calls) == 5


def test_speed_table_names_a_repeated_time_once() -> None:
    rows = [
        Timing("one thing", 1e-3, None, "one peer", 5e-2, 40),
        Timing("one thing", 1e-3, None, "other peer", 2e-2, 40),
        Timing("sweep", 0.8, target=1.0),
    ]
    shown = text(bench.speed_table(rows, 3))
    assert shown.count("one thing") == 1
    assert "yes" in shown
    assert "no " in shown


def fake_groups(passing: bool) -> tuple[Callable[[], list[Check]], ...]:
    def invented() -> list[Check]:
        return [Check("an invented case", "size", "a book", 2.0, 2.0 if passing else 3.0, 0.1)]

    return (invented,)


@pytest.mark.parametrize("passing", [True, False])
def test_accuracy_tells_by_its_status(
    passing: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr(bench, "GROUPS", fake_groups(passing))
    monkeypatch.setattr(bench, "installed", lambda: False)
    assert bench.main(accuracy=True) == (0 if passing else 1)
    shown = capsys.readouterr().out
    assert "an invented case" in shown
    assert f"{int(passing)} of 1 checks passed" in shown
    assert MISSING in shown  # what was left out is said


def test_accuracy_table_shows_source_and_limits() -> None:
    shown = text(
        bench.accuracy_table(
            [
                Check("first", "bow", "Love 1927", 1.0, 1.001, 0.002),
                Check("first", "worst point, mm", "Love 1927", 0.3, 0.1, rule=Rule.AT_MOST),
                Check("second", "length", "Dubins 1957", 100.0, 120.0, 1e-3, Rule.AT_LEAST),
            ]
        )
    )
    for word in ("Love 1927", "≤ 0.3", "≥ 100", "± 0.2 %", "+20.000 %"):
        assert word in shown


def test_no_repeats_are_refused() -> None:
    with pytest.raises(ValueError, match="repeats is 0"):
        bench.main(repeats=0)


def test_twelve_lines_turn_through_eighty_one_poses() -> None:
    setup = twelve_lines(bundled_setup())
    assert len(setup.lines) == LINES == len({line.name for line in setup.lines})
    assert len({(line.name.split(" 2")[0], line.length) for line in setup.lines}) == LINES
    assert len(sweep_angles(setup.machine)) == 81


def test_peer_is_as_accurate_as_asked() -> None:
    """A tuned peer is quicker than a needlessly exact one, and an impossible demand gives nan."""
    poses = peer.turned(space_checks.SPANS["brake hose"])
    task = peer._settling(poses, 2)
    assert 0 < task.ours < 0.3
    assert task.off(task.exact) == 0.0
    seconds = task.quickest(peer._DERIVED, 1)
    assert 0 < seconds < 5
    hopeless = peer._Task(task.span, task.length, None, task.exact, 0.0, task.guesses)
    assert math.isnan(hopeless.quickest(peer._DERIVED[:1], 1))


def test_peer_and_ours_turn_the_same_way() -> None:
    spans = [space_checks.SPANS[name] for name in ("clutch cable", "harness")]
    lines = [peer.turned(span) for span in spans]
    rods, moving = peer.together(lines)
    assert rods.size == 2
    for line, poses in enumerate(lines):
        for pose, span in enumerate(poses[1:]):
            assert moving.end[pose, line] == pytest.approx(np.asarray(span.end))
    assert peer._follow_seconds(lines, 1) > 0


def test_growth_is_the_power_of_the_size() -> None:
    sizes = (10, 20, 40, 80)
    linear = Growth("a linear thing", sizes, tuple(1e-3 * size for size in sizes))
    square = Growth("a square thing", sizes, tuple(1e-4 * size**2 for size in sizes))
    assert linear.power == pytest.approx(1.0)
    assert square.power == pytest.approx(2.0)
    assert linear.met
    assert not square.met
    shown = text(growth_table([linear, square]))
    assert "1.00" in shown
    assert "2.00" in shown


def test_glances_come_to_rest() -> None:
    for timing in edit.glances(1):
        assert 0.0 < timing.seconds < 60.0, timing.what
        assert timing.target == edit.GLANCE_TARGET


def test_small_edit_moves_one_station_and_all_lines_come_to_rest() -> None:
    setup = twelve_lines(bundled_setup())
    edited = edit._edited(setup)
    moved = [
        (old.place, new.place)
        for one, other in zip(setup.lines, edited.lines, strict=True)
        for old, new in zip(one.stations, other.stations, strict=True)
        if old != new
    ]
    assert len(moved) == 1
    ((old, new),) = moved
    assert math.dist(old.position, new.position) == pytest.approx(1.0)
    groups = edit._standing(setup, edit.span_cases(setup, True, True))
    good = edit._again(edited, groups, True)
    assert len(good) >= 2 * LINES
    assert all(good)


def test_what_cannot_be_drawn_is_told_and_the_rest_timed(monkeypatch, capsys) -> None:
    def no_picture(repeats: int) -> list[Timing]:
        raise PictureError("cannot draw a picture: there is no display")

    def other(repeats: int) -> list[Timing]:
        return [Timing("something else", 0.001)]

    monkeypatch.setenv("COLUMNS", "200")
    monkeypatch.setattr(bench, "MEASURES", (no_picture, other))
    monkeypatch.setattr(bench, "growths", lambda repeats: [])
    assert bench.main(repeats=1) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "not timed: cannot draw a picture: there is no display." in told
    assert "something else" in told


def test_each_edit_of_a_drags_frame_changes_what_it_says() -> None:
    setup = twelve_lines(bundled_setup())
    for edited, same in ((frames._station, "controls"), (frames._control, "lines")):
        changed = edited(setup, 1.0)
        assert changed != setup
        assert getattr(changed, same) == getattr(setup, same)
        assert edited(setup, 1.5) != changed
    assert frames._roll(setup, 1.0).stock.bar.roll > setup.stock.bar.roll
