"""Steering torque: where it is known, what adds up, and how it is told."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
import pytest

from barfit.analysis import LineFinding, LineTorque, Verdict, sweep
from barfit.analysis.rest import line_rests
from barfit.analysis.sweep import Sweep
from barfit.analysis.torque import line_torque, total_torque
from barfit.bench.torque_checks import minus_slope
from barfit.geometry.frames import steering_axis
from barfit.model import Body, Capsule, Hold, Line, PointPlace, Role, Setup, Solid, Station
from barfit.report.torque import (
    locks_sentence,
    torque_sentences,
    torque_values,
    total_values,
)

STEP = math.radians(10)


def swept(setup: Setup, length: float, first: Body, last: Body, contact: bool = False) -> Sweep:
    """One brake hose of that length between two bodies, turned in big steps."""
    stations = (
        Station("top", Hold.FITTING, PointPlace(first, (-60.0, 200.0, 80.0)), (0.6, -0.8, 0.0)),
        Station("bottom", Hold.FITTING, PointPlace(last, (60.0, 40.0, -200.0)), (0.0, 0.0, 1.0)),
    )
    hose = Line("hose", "brake_hose", 10.0, length, stations)
    return sweep(replace(setup, lines=(hose,)), step=STEP, contact=contact)


def ride_height(found: Sweep) -> tuple[float, ...]:
    """Torque of its only line at every turn."""
    (line,) = found.lines
    return line_torque(found, line, line_rests(found, line)).at_ride_height


def test_a_line_on_the_frame_leaves_the_bar_alone(cruiser: Setup) -> None:
    found = swept(cruiser, 520.0, Body.FRAME, Body.FRAME)
    assert set(ride_height(found)) == {0.0}


def test_a_line_on_the_steering_only_weighs_on_it(cruiser: Setup) -> None:
    """Its inner forces cancel; what is left is the moment of its weight about the axis."""
    found = swept(cruiser, 520.0, Body.STEERING, Body.STEERING)
    line = found.lines[0]
    case = line.spans[0].case
    axis = steering_axis(cruiser.machine.rake)
    share = np.full(case.nodes, case.weight * case.length / (case.nodes - 1))
    share[[0, -1]] *= 0.5
    weight = -share[:, None] * np.array([0.0, 0.0, 1.0])
    moments = np.cross(line.shapes[0], weight).sum(1) @ axis / 1e3
    np.testing.assert_allclose(ride_height(found), moments, atol=1e-6)


def test_where_a_line_is_too_short_its_torque_is_not_known(cruiser: Setup) -> None:
    taut = swept(cruiser, 520.0, Body.STEERING, Body.FRAME).lines[0].taut[0]
    length = float(0.5 * (taut.max() + taut.min()))
    found = swept(cruiser, length, Body.STEERING, Body.FRAME)
    torque = np.array(ride_height(found))
    np.testing.assert_array_equal(np.isnan(torque), found.lines[0].slack[0] < 0.0)
    assert np.isfinite(torque).any()


def test_what_a_line_presses_on_belongs_to_its_torque(cruiser: Setup) -> None:
    """A tube across its way, on the frame or on the steering: still minus the potential's slope."""
    for body in (Body.FRAME, Body.STEERING):
        tube = Solid("tube", Role.OTHER, body, Capsule((97, -80, -2), (97, 80, -2), 12.0))
        machine = replace(cruiser.machine, solids=(tube,))
        found = swept(
            replace(cruiser, machine=machine), 520.0, Body.STEERING, Body.FRAME, contact=True
        )
        (line,) = found.lines
        rests = line_rests(found, line)
        pose = int(np.flatnonzero(found.angles == 0.0)[0]) + 1
        touched = [one for one in line.pressing if np.linalg.norm(one.force[0, pose]) > 0.1]
        assert [one.part for one in touched] == ["tube"]
        got = line_torque(found, line, rests).at_ride_height[pose]
        assert got == pytest.approx(minus_slope(found, line, rests, pose) / 1e3, rel=0.01)
        quiet = [
            replace(rest, state=replace(rest.state, touch_force=0.0 * rest.state.touch_force))
            for rest in rests
        ]
        without = line_torque(found, line, quiet).at_ride_height[pose]
        assert (abs(without - got) > 0.05 * abs(got)) is (body is Body.STEERING)


def torque(*values: float) -> LineTorque:
    return LineTorque((-0.6, 0.0, 0.6), (-30.0, 0.0, 80.0), ((9.0, 9.0, 9.0), values, (9.0,) * 3))


def finding(name: str, verdict: Verdict, *values: float) -> LineFinding:
    zeros = {field.name: 0.0 for field in fields(LineFinding) if field.type == "float"}
    return LineFinding(name, verdict, torque=torque(*values), **zeros)


CABLE = finding("clutch cable", Verdict.REACHES, 0.10, 0.0, -0.32)
HOSE = finding("brake hose", Verdict.REACHES, 0.15, 0.01, 0.02)
SHORT = finding("choke cable", Verdict.SHORT, math.nan, 0.0, 0.004)
LOST = finding("lead", Verdict.NOT_KNOWN, math.nan, math.nan, math.nan)


def test_values_at_the_locks_are_those_at_ride_height() -> None:
    one = torque(0.1, 0.2, 0.3)
    assert one.at_ride_height == (0.1, 0.2, 0.3)
    assert (one.right_lock, one.left_lock) == (0.1, 0.3)


def test_the_total_is_known_where_every_part_is() -> None:
    assert total_torque([torque(0.1, 0.2, 0.3), torque(1, 2, 3)]) == pytest.approx((1.1, 2.2, 3.3))
    assert math.isnan(total_torque([torque(0.1, 0.2, 0.3), torque(math.nan, 2, 3)])[0])


def test_sentences() -> None:
    assert torque_sentences([CABLE, HOSE]) == [
        "At full right lock the lines turn the bar to the left with 0.25 N·m; most comes from the "
        "brake hose (0.15 N·m to the left).",
        "At full left lock the lines turn the bar to the right with 0.30 N·m; most comes from the "
        "clutch cable (0.32 N·m to the right).",
    ]
    assert torque_sentences([CABLE, SHORT])[0] == (
        "Steering torque of the lines at full right lock is not known: the choke cable is too "
        "short to get there."
    )
    assert torque_sentences([SHORT, LOST])[1] == (
        "Steering torque of the lines at full left lock is not known: no rest shape was found for "
        "the lead."
    )
    assert torque_sentences([SHORT])[1] == "At full left lock the lines do not turn the bar."
    assert torque_sentences([]) == []


def test_both_locks_in_short() -> None:
    assert locks_sentence([CABLE, HOSE]) == (
        "The lines turn the bar: at right lock 0.25 N·m to the left, at left lock 0.30 N·m to the "
        "right."
    )
    assert locks_sentence([CABLE, SHORT]).startswith("The lines turn the bar: at right lock not k")
    assert locks_sentence([SHORT, LOST]) == (
        "How far the lines turn the bar at the locks is not known: no rest shape was found for "
        "the lead."
    )
    assert locks_sentence([]) == ""


def test_plain_values() -> None:
    assert torque_values(SHORT.torque) == [None, 0.0, 0.004]
    values = total_values([CABLE, SHORT])
    assert values["turns"] == pytest.approx([-34.3775, 0.0, 34.3775])
    assert values["steering_torque"] == [None, 0.0, pytest.approx(-0.316)]
