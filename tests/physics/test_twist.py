"""Twist: its derivatives against differences, its share in stability, writhe itself."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit.bench.space_checks import SPANS
from barfit.bench.twist_checks import greenhill, second_variation, turned
from barfit.bench.writhe import writhe
from barfit.mechanics import Span
from barfit.mechanics.band import factorise
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import State
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.start import settled
from barfit.mechanics.system import assemble
from barfit.mechanics.twist import across, carried_frame, twist_of
from barfit.mechanics.twist_kernels import add_twist, steadied, total_twist

STEP = 1e-5


def crooked(nodes: int = 9) -> tuple[np.ndarray, ...]:
    """Nodes, end directions and frames of a rod far from rest."""
    rng = np.random.default_rng(5)
    x = 10.0 * np.cumsum(rng.normal(size=(nodes, 3)) * 0.5 + [1.0, 0.0, 0.0], axis=0)
    directions = np.array([[1.0, 0.2, 0.1], [0.8, -0.2, 0.5]])
    directions /= np.linalg.norm(directions, axis=1)[:, None]
    return x, *directions, *across(directions)


def test_the_slope_of_the_twist_is_its_difference() -> None:
    x, first, last, start, end = crooked()
    slope, band = np.empty_like(x), np.zeros((*x.shape, 9))
    add_twist(x, first, last, 0.0, slope, band)
    for i, c in np.ndindex(*x.shape):
        up, down = x.copy(), x.copy()
        up[i, c] += STEP
        down[i, c] -= STEP
        twists = [total_twist(y, first, last, start, end, 0.0) for y in (down, up)]
        assert slope[i, c] == pytest.approx((twists[1] - twists[0]) / (2 * STEP), abs=1e-9)


@pytest.mark.parametrize("width", [9, 12])
def test_the_second_slope_of_the_twist_is_the_difference_of_the_first(width: int) -> None:
    x, first, last, *_ = crooked()
    size = x.size
    band = np.zeros((*x.shape, width))
    add_twist(x, first, last, 3.0, np.empty_like(x), band)
    got, wanted = np.zeros((size, size)), np.empty((size, size))
    for column in range(size):
        for above in range(min(width, column + 1)):
            value = band.reshape(size, width)[column, width - 1 - above]
            got[column - above, column] = got[column, column - above] = value
        slopes = []
        for by in (-STEP, STEP):
            y = x.copy()
            y.flat[column] += by
            slopes.append(np.empty_like(x))
            add_twist(y, first, last, 0.0, slopes[-1], np.zeros((*x.shape, width)))
        wanted[:, column] = 3.0 * ((slopes[1] - slopes[0]) / (2 * STEP)).ravel()
    np.testing.assert_allclose(got, wanted, atol=1e-9)


def test_whole_turns_are_told_apart_by_what_is_near() -> None:
    x, first, last, start, end = crooked()
    base = total_twist(x, first, last, start, end, 0.0)
    for turns in (-3, 1, 2):
        near = base + 2.0 * math.pi * turns + 0.4
        got = total_twist(x, first, last, start, end, near)
        assert got == pytest.approx(base + 2.0 * math.pi * turns)


@pytest.mark.parametrize("case", ["throttle cable", "harness"])
def test_a_frame_is_carried_square_to_the_line_and_keeps_its_length(case: str) -> None:
    span = SPANS[case]
    rods = batch_of_one(span)
    state, _ = settled(rods, np.array([span.length]), span.nodes)
    carried = carried_frame(rods, state.nodes, across(rods.start_direction))
    assert np.linalg.norm(carried) == pytest.approx(1.0, abs=1e-12)
    assert abs(carried[0] @ rods.end_direction[0]) < 1e-12


@pytest.mark.parametrize("degrees", [100.0, 300.0, 420.0])
def test_stability_with_twist_is_the_sign_of_the_second_variation(degrees: float) -> None:
    """Written out as a full matrix, for clamps from rigid to as good as a dead moment."""
    span = SPANS["throttle cable"]
    rods, state = turned(span, math.radians(100.0))
    moment = (
        float(state.twist_moment[0]) * degrees / 100.0
    )  # beyond what the rod carries: it need not be at rest here
    nodes = state.nodes[0]
    for compliance in np.geomspace(1e-4, 1e4, 17) * span.length / span.bending_stiffness:
        linear = assemble(replace(rods, twisting=np.zeros(1)), state)
        slope = np.empty_like(nodes)
        ends = rods.start_direction[0], rods.end_direction[0]
        add_twist(nodes, *ends, moment, slope, linear.band[0])
        right = np.array([linear.right[0] - moment * slope, slope])
        room = np.empty((nodes.size, 9)), np.empty(nodes.size), np.empty_like(right)
        upper = np.empty((len(nodes), 3, 3, 3))
        stable = factorise(linear.band[0], False, 0.0, upper) or steadied(
            linear.band[0], compliance, right, *room
        )
        matrix = second_variation(rods, state, moment, compliance)
        assert stable == (np.linalg.eigvalsh(matrix)[0] > 0.0)


def test_a_clamp_steadies_what_a_dead_moment_would_turn_over() -> None:
    """Past the moment that topples it when dead, a rod whose ends are held stays where it is."""
    span = SPANS["throttle cable"]
    outcomes = {}
    for share in np.linspace(1.0, 6.0, 26):
        rods, state = turned(span, math.radians(100.0))
        moment = float(state.twist_moment[0])
        linear = [second_variation(rods, state, share * moment, c) for c in (1e-6, 1e6)]
        outcomes[tuple(bool(np.linalg.eigvalsh(m)[0] > 0.0) for m in linear)] = share
    assert (True, True) in outcomes
    assert (True, False) in outcomes  # held: stable; dead: not


@pytest.mark.parametrize("share", [0.97, 1.03])
def test_a_straight_rod_is_called_unstable_past_greenhills_moment(share: float) -> None:
    length, stiffness, nodes = 700.0, 5e4, 81
    span = Span((0, 0, 0), (1, 0, 0), (length, 0, 0), (1, 0, 0), length, stiffness, nodes=nodes)
    rods = batch_of_one(span)
    points = np.zeros((1, nodes, 3))
    points[0, :, 0] = np.linspace(0, length, nodes)
    state = State(
        points,
        np.zeros((1, nodes - 1)),
        np.array([length / (nodes - 1)]),
        np.zeros((1, 0)),
        np.zeros((1, 0, 3)),
    )
    twist = share * greenhill(0.0)  # GJ = EI: the moment in EI/L is the twist in rad
    state.twist[:] = twist
    state.twist_moment[:] = twist * stiffness / length
    rods = replace(
        rods,
        twisting=np.array([stiffness]),
        start_frame=np.array([[0.0, 1.0, 0.0]]),
        end_frame=np.array([[0.0, math.cos(twist), math.sin(twist)]]),
    )
    out = newton(rods, state.copy(), most_steps=1)
    assert twist_of(rods, state)[0] == pytest.approx(twist, rel=1e-9)
    assert bool(out.stable[0]) is (share < 1.0)
    assert bool(out.converged[0]) is (share < 1.0)


def test_random_rods_wound_up_come_to_a_stable_rest() -> None:
    """Thirty of any layout, ends turned by up to 144°: each settles, and truly is stable there."""
    rng = np.random.default_rng(11)
    for _ in range(30):
        end = rng.normal(size=3) * [300.0, 300.0, 200.0]
        end *= max(1.0, 150.0 / np.linalg.norm(end))
        chord = float(np.linalg.norm(end))
        first, last = rng.normal(size=(2, 3)) + end / chord
        length = chord * rng.uniform(1.15, 1.9)
        span = Span((0, 0, 0), first, end, last, length, 2e4, 0.001, nodes=61)
        rods, state = turned(span, math.radians(rng.uniform(-144.0, 144.0)), rng.uniform(0.5, 2.0))
        assert np.isfinite(state.nodes).all()
        compliance = length / float(rods.twisting[0])
        matrix = second_variation(rods, state, float(state.twist_moment[0]), compliance)
        assert np.linalg.eigvalsh(matrix)[0] > 0.0


def test_mirror_images_are_twisted_the_other_way() -> None:
    span = SPANS["hose to the wheel"]
    mirror = np.array([1.0, -1.0, 1.0])
    image = Span(
        span.start * mirror,
        span.start_direction * mirror,
        span.end * mirror,
        span.end_direction * mirror,
        span.length,
        span.bending_stiffness,
        span.weight,
    )
    _, one = turned(span, 1.5)
    _, two = turned(image, -1.5)
    np.testing.assert_allclose(two.twist_moment, -one.twist_moment, rtol=1e-6)
    np.testing.assert_allclose(two.nodes, one.nodes * mirror, atol=1e-3)


def test_twist_does_not_hang_on_the_mesh() -> None:
    """Turned a quarter turn, the share of it that stays twist is that of a finer mesh."""
    twists = []
    for nodes in (41, 81):
        span = SPANS["throttle cable"]
        fine = Span(**{**vars(span), "nodes": nodes})
        rods, state = turned(fine, math.pi / 2)
        twists.append(float(twist_of(rods, state)[0]))
    assert twists[0] == pytest.approx(twists[1], rel=5e-3)


def test_writhe_of_curves_that_are_known() -> None:
    """A flat curve has none; a flat figure of eight lifted at its crossing has one, signed."""
    angle = np.linspace(0.0, 2.0 * math.pi, 160, endpoint=False)
    flat = np.column_stack((np.cos(angle), 0.6 * np.sin(angle), 0.0 * angle))
    assert writhe(flat) == pytest.approx(0.0, abs=1e-12)
    lifted = np.column_stack((np.sin(angle), np.sin(2.0 * angle), 1e-3 * np.cos(angle)))
    assert abs(writhe(lifted)) == pytest.approx(1.0, abs=5e-3)
    assert writhe(lifted * [1.0, 1.0, -1.0]) == pytest.approx(-writhe(lifted), abs=1e-12)
