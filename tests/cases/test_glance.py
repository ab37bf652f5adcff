"""A glance at one pose says what the sweep says there, before an edit and after it."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.analysis import LineSweep, Sweep, sweep
from barfit.analysis.glance import Glance, again, from_nothing, from_sweep
from barfit.geometry.pose import LayoutError
from barfit.model import BarPlace, Body, OutletPlace, PointPlace, Setup

SLACK, SHAPE = 0.5, 1.0  # mm, how far a glance may be from the sweep
RADIUS = 0.05  # of it: places of contact are counted in quarters of an edge
STEMS = sorted(path.stem for path in scenario.bundled())


@cache
def setup(stem: str) -> Setup:
    (path,) = (path for path in scenario.bundled() if path.stem == stem)
    return scenario.load(path)


@cache
def swept(stem: str) -> Sweep:
    return sweep(setup(stem))


def cell(line: LineSweep, angles: np.ndarray, turn: float, travel: float) -> tuple[int, int]:
    return int(np.abs(line.travels - travel).argmin()), int(np.abs(angles - turn).argmin())


def assert_as_in(glance: Glance, whole: Sweep, shapes: set[str] | None = None) -> None:
    """``shapes`` are the lines whose shapes are compared, all of them by default."""
    assert glance.sweep.angles.tolist() == [glance.turn]
    for line in glance.sweep.lines:
        other = whole.line(line.name)
        at = cell(other, whole.angles, glance.turn, glance.travel)
        what = f"{line.name} at {math.degrees(glance.turn):.0f}°, {glance.travel:.0f} mm"
        assert line.converged[0, 0] == other.converged[at], what
        if not other.converged[at]:
            continue
        assert line.slack[0, 0] == pytest.approx(other.slack[at], abs=SLACK), what
        if shapes is None or line.name in shapes:
            apart = np.linalg.norm(line.shapes[0, 0] - other.shapes[at], axis=1).max()
            assert apart < SHAPE, what
            assert line.min_radius[0, 0] == pytest.approx(other.min_radius[at], rel=RADIUS), what


def poses(whole: Sweep) -> list[tuple[float, float]]:
    """Both locks, a quarter of the way and straight ahead, at ride height; a lock compressed."""
    angles = whole.angles
    count = len(angles)
    deep = max(float(line.travels.max()) for line in whole.lines)
    picked = [float(angles[k]) for k in (0, count // 4, count // 2, 3 * count // 4, count - 1)]
    return [*((turn, 0.0) for turn in picked), (picked[-1], deep)]


@pytest.mark.parametrize("stem", STEMS)
def test_a_glance_out_of_a_sweep_is_that_sweep_at_the_pose(stem: str) -> None:
    whole = swept(stem)
    for turn, travel in poses(whole):
        assert_as_in(from_sweep(whole, turn, travel), whole)


@pytest.mark.parametrize("stem", STEMS)
def test_a_glance_goes_on_to_other_poses(stem: str) -> None:
    whole = swept(stem)
    glance = from_sweep(whole, 0.0, 0.0)
    for turn, travel in poses(whole):
        glance = again(glance, whole.setup, turn, travel)
        assert_as_in(glance, whole)


def moved(setup: Setup, chance: np.random.Generator, most: float) -> tuple[Setup, str]:
    """One station of one line somewhere else, by up to ``most`` mm; and that line's name."""
    while True:
        line = setup.lines[chance.integers(len(setup.lines))]
        at = int(chance.integers(len(line.stations)))
        place = line.stations[at].place
        if isinstance(place, OutletPlace):
            continue
        by = chance.normal(size=3)
        by *= most * chance.uniform() / np.linalg.norm(by)
        if isinstance(place, PointPlace):
            x, y, z = (float(v) for v in np.array(place.position) + by)
            return edits.move_station(setup, line.name, at, (x, y, z)), line.name
        edited = edits.change_station(setup, line.name, at, place=_beside(place, by))
        return edited, line.name


def _beside(place: BarPlace, by: np.ndarray) -> BarPlace:
    return replace(place, forward=place.forward + by[0], up=place.up + by[1])


@pytest.mark.parametrize("stem", STEMS)
def test_after_small_moves_a_glance_is_the_sweep_of_the_edited_setup(stem: str) -> None:
    whole = swept(stem)
    chance = np.random.default_rng(sum(map(ord, stem)))
    turn = float(whole.angles[3 * len(whole.angles) // 4])
    glance, now, touched = from_sweep(whole, turn, 0.0), whole.setup, set()
    for _ in range(12):
        now, line = moved(now, chance, 6.0)
        touched.add(line)
        glance = again(glance, now)
    edited = sweep(now)
    twisting = {
        line.name for line in edited.lines for span in line.spans if span.case.twisting > 0.0
    }
    # those that were edited are taken as free to twist, and from nothing all are
    names = {line.name for line in edited.lines}
    assert_as_in(glance, edited, names - (twisting & touched))
    assert_as_in(from_nothing(now, False, turn, 0.0), edited, names - twisting)


def test_what_nothing_happens_to_is_not_solved_again() -> None:
    whole = swept("naked-standard")
    glance = from_sweep(whole, 0.2, 0.0)
    line = next(
        line for line in whole.setup.lines if isinstance(line.stations[-1].place, PointPlace)
    )
    x, y, z = line.stations[-1].place.position
    edited = edits.move_station(whole.setup, line.name, len(line.stations) - 1, (x, y + 1.0, z))
    after = again(glance, edited)
    kept = [
        one.name
        for one in edited.lines
        if after.sweep.line(one.name) is glance.sweep.line(one.name)
    ]
    assert line.name not in kept
    assert len(kept) >= len(edited.lines) - 2


def test_a_guide_more_or_less_starts_that_line_from_nothing() -> None:
    whole = swept("naked-standard")
    line = whole.setup.lines[0]
    turn = 0.3
    points = again(from_sweep(whole, turn, 0.0), whole.setup).sweep.line(line.name).shapes[0, 0]
    x, y, z = (float(v) for v in points[len(points) // 2])
    edited = edits.insert_guide(whole.setup, line.name, 0, (x, y, z + 2.0), Body.FRAME)
    glance = again(from_sweep(whole, turn, 0.0), edited)
    assert len(glance.sweep.line(line.name).stations_at[0, 0]) == len(line.stations) + 1
    cold = from_nothing(edited, False, turn, 0.0)
    ours, theirs = (g.sweep.line(line.name) for g in (glance, cold))
    assert ours.converged[0, 0]
    assert ours.slack[0, 0] == pytest.approx(theirs.slack[0, 0], abs=1e-6)
    back = again(glance, whole.setup)
    before = from_sweep(whole, turn, 0.0)
    assert back.sweep.line(line.name).slack == pytest.approx(
        before.sweep.line(line.name).slack, abs=SLACK
    )


def test_a_line_that_cannot_be_laid_out_raises_as_a_sweep_does() -> None:
    whole = swept("naked-standard")
    line = whole.setup.lines[0]
    edited = edits.change_line(whole.setup, line.name, length=5.0)
    with pytest.raises((LayoutError, ValueError)):
        again(from_sweep(whole, 0.0, 0.0), edited)


def test_a_line_that_is_far_too_short_is_laid_along_its_taut_path() -> None:
    whole = swept("naked-standard")
    line = whole.setup.lines[0]
    edited = edits.change_line(whole.setup, line.name, length=0.8 * line.length)
    glance = again(from_sweep(whole, 0.3, 0.0), edited)
    found = glance.sweep.line(line.name)
    assert found.converged[0, 0]
    assert found.slack[0, 0] < -10.0
    back = again(glance, whole.setup)
    before = from_sweep(whole, 0.3, 0.0).sweep.line(line.name)
    assert back.sweep.line(line.name).slack == pytest.approx(before.slack, abs=SLACK)
