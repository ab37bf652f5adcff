"""Twist over the sweep: which lines carry it, how it is counted, and how it is told."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from test_torque import finding

from barfit.analysis import Twist, Verdict, sweep
from barfit.analysis.rest import line_rests
from barfit.analysis.sweep import Sweep
from barfit.analysis.twist import line_twist
from barfit.geometry.frames import local_to_machine
from barfit.model import Body, Hold, Line, PointPlace, Setup, Station, Vec
from barfit.report.twist import twist_sentence, twist_values

STEP = math.radians(10)


def vec(values: np.ndarray) -> Vec:
    x, y, z = (float(value) for value in values)
    return (x, y, z)


def along_the_axis(setup: Setup, kind: str = "brake_hose", **changes: object) -> Sweep:
    """A line down the steering axis from the steering to the frame, with next to no slack."""
    rake = setup.machine.rake
    down = vec(-local_to_machine(rake, 0.0, 0.0, 1.0))
    up = vec(local_to_machine(rake, 0.0, 0.0, 1.0))
    stations = (
        Station("top", Hold.FITTING, PointPlace(Body.STEERING, (0.0, 0.0, 0.0)), down),
        Station(
            "bottom",
            Hold.FITTING,
            PointPlace(Body.FRAME, vec(local_to_machine(rake, 0.0, 0.0, -400.0))),
            up,
        ),
    )
    line = replace(Line("line", kind, 10.0, 400.2, stations), **changes)
    return sweep(replace(setup, lines=(line,)), step=STEP, contact=False)


def twist_of(found: Sweep) -> Twist | None:
    (line,) = found.lines
    return line_twist(found, line, line_rests(found, line))


def test_a_line_along_the_steering_axis_is_twisted_by_the_turn(cruiser: Setup) -> None:
    """Turned left at its upper end, it is twisted right-handed on its way down."""
    lock = cruiser.machine.lock_left
    twist = twist_of(along_the_axis(cruiser))
    assert twist is not None
    assert twist.most == pytest.approx(lock, rel=0.02)
    assert twist.least == pytest.approx(-cruiser.machine.lock_right, rel=0.02)
    assert abs(twist.greatest) == pytest.approx(abs(twist.turn), rel=0.02)
    assert twist.rate == pytest.approx(lock / 400.2, rel=0.02)
    assert twist.moment == pytest.approx(20_000.0 * lock / 400.2, rel=0.02)
    assert (twist.unknown, twist.stations) == (0, ("top", "bottom"))
    assert not twist.too_much  # 40° over 0.4 m is 100° per metre, of 120°


def test_it_is_fitted_without_twist_straight_ahead(cruiser: Setup) -> None:
    found = along_the_axis(cruiser)
    (rest,) = line_rests(found, found.lines[0])
    straight = int(np.flatnonzero(found.angles == 0.0)[0])
    assert rest.twist[straight] == pytest.approx(0.0, abs=1e-9)


def test_twist_moves_a_line(cruiser: Setup) -> None:
    """The stiffer it is against twist, the less it is twisted and the more it gives way."""
    free, soft, stiff = (
        along_the_axis(cruiser, length=430.0, **changes)
        for changes in (
            {"swivels": True},
            {"twisting_stiffness": 200.0},
            {"twisting_stiffness": 20_000.0},
        )
    )
    gentle, hard = twist_of(soft), twist_of(stiff)
    assert gentle is not None
    assert hard is not None
    assert hard.most < gentle.most
    moved = [
        np.linalg.norm(each.lines[0].shapes[0, 0] - free.lines[0].shapes[0, 0], axis=1).max()
        for each in (soft, stiff)
    ]
    assert moved[0] < 0.1 * moved[1]
    assert moved[1] > 1.0


@pytest.mark.parametrize(
    ("kind", "changes"), [("clutch_cable", {}), ("brake_hose", {"swivels": True})]
)
def test_a_line_that_can_turn_in_its_fittings_is_not_twisted(
    cruiser: Setup, kind: str, changes: dict[str, object]
) -> None:
    assert twist_of(along_the_axis(cruiser, kind, **changes)) is None


def test_a_cable_held_at_both_ends_is_twisted(cruiser: Setup) -> None:
    assert twist_of(along_the_axis(cruiser, "clutch_cable", swivels=False)) is not None


def test_a_line_that_nothing_moves_is_not_twisted(cruiser: Setup) -> None:
    found = along_the_axis(cruiser)
    (line,) = found.setup.lines
    still = tuple(
        replace(station, place=replace(station.place, body=Body.FRAME))  # type: ignore[type-var]
        for station in line.stations
    )
    setup = replace(cruiser, lines=(replace(line, stations=still),))
    assert twist_of(sweep(setup, step=STEP)) is None


def test_a_line_too_short_to_be_fitted_has_no_known_twist(cruiser: Setup) -> None:
    twist = twist_of(along_the_axis(cruiser, length=380.0))
    assert twist is not None
    assert math.isnan(twist.greatest)
    assert twist.unknown == twist.poses
    assert not twist.too_much
    values = twist_values(twist)
    assert values is not None
    assert values["greatest"] is None
    assert values["too_much"] is None


def test_whole_turns_are_followed(cruiser: Setup) -> None:
    """A line turned by well over half a turn, as no bar is, keeps count."""
    wide = replace(cruiser.machine, lock_left=math.radians(250.0))
    found = along_the_axis(replace(cruiser, machine=wide), twisting_stiffness=100.0)
    twist = twist_of(found)
    assert twist is not None
    assert twist.most == pytest.approx(math.radians(250.0), rel=0.02)


TWIST = Twist(
    greatest=math.radians(65.0),
    least=math.radians(-15.0),
    most=math.radians(65.0),
    length=410.0,
    turn=math.radians(40.0),
    travel=80.0,
    allowed=math.radians(120.0) / 1000.0,
    stations=("splitter", "clip"),
    moment=57.0,
    unknown=0,
    poses=81,
)


def test_the_sentence_says_where_and_what_would_ease_it() -> None:
    plain = finding("front brake hose", Verdict.REACHES, 0.0, 0.0, 0.0)
    assert twist_sentence(plain) == ""
    assert twist_sentence(replace(plain, twist=TWIST)) == (
        "Front brake hose is twisted by 65° at 40° left with the fork compressed, between "
        "'splitter' and 'clip': 159° per metre, more than the 120° it should take; fitted straight "
        "ahead with 25° of twist the other way it keeps to that."
    )
    wide = replace(TWIST, least=math.radians(-60.0))
    assert twist_sentence(replace(plain, twist=wide)).endswith(
        "; a longer line or a fitting that swivels eases it."
    )
    allowed = replace(TWIST, allowed=math.radians(180.0) / 1000.0)
    assert twist_sentence(replace(plain, twist=allowed)) == ""


def test_plain_values() -> None:
    values = twist_values(TWIST)
    assert values is not None
    assert values["greatest"] == pytest.approx(65.0)
    assert values["per_metre"] == pytest.approx(65.0 / 0.41, abs=1e-3)
    assert values["allowed_per_metre"] == pytest.approx(120.0)
    assert values["twisting_moment"] == pytest.approx(0.057)
    assert values["too_much"] is True
    assert values["between"] == ["splitter", "clip"]
    assert twist_values(None) is None
