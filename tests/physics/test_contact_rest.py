"""Rods at rest against solids: how deep, how balanced, how smooth, and mirrored."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from barfit.geometry.solids import box, capsule, ellipsoid
from barfit.mechanics.contact import touches
from barfit.mechanics.rod import Rods, State, bending_energy, load_energy
from barfit.mechanics.settle import Span, batch_of_one
from barfit.mechanics.solid_kernels import BOX, CAPSULE, ELLIPSOID, SIZES, Solids
from barfit.mechanics.start import let_out, pulled, settled
from barfit.mechanics.track import Holds, follow

RADIUS = 3.5
TUBE = ([0, 0, -200], [0, 0, 200], 25.0)


def among(span: Span, *rows: tuple[int, list[float]]) -> Rods:
    """A span as a batch of one among solids that stand still."""
    size = np.zeros((len(rows), SIZES))
    for k, (_, numbers) in enumerate(rows):
        size[k, : len(numbers)] = numbers
    kinds = np.array([kind for kind, _ in rows])
    solids = Solids(kinds, np.zeros(len(rows), np.int64), size, np.zeros(0))
    rods = batch_of_one(span)
    return replace(
        rods,
        solids=solids,
        radius=np.array([RADIUS]),
        blind=np.zeros((1, len(rows)), bool),
    )


def tube() -> tuple[int, list[float]]:
    return CAPSULE, [*TUBE[0], *TUBE[1], TUBE[2]]


def past_the_tube(y: float = -8.0, length: float = 520.0, weight: float = 0.0) -> Span:
    """A line that would run through an upright tube."""
    # no straight line and no plane of its own, so that there is one way to lie
    last = (1, -0.2, 0)
    return Span((-220, y, 0), (1, 0, 0), (220, y, 30), last, length, 3e4, weight, nodes=61)


def fine(points: np.ndarray) -> np.ndarray:
    """Catmull-Rom between the nodes, forty points to an edge."""
    p0, p1, p2, p3 = points[:-3], points[1:-2], points[2:-1], points[3:]
    out = []
    for f in np.linspace(0, 1, 40, endpoint=False):
        out.append(
            0.5
            * (
                2 * p1
                + (p2 - p0) * f
                + (2 * p0 - 5 * p1 + 4 * p2 - p3) * f**2
                + (3 * p1 - p0 - 3 * p2 + p3) * f**3
            )
        )
    return np.concatenate(out)


SCENES = {
    "tube": (tube(), lambda p: capsule(p, *TUBE)),
    "box": (
        (BOX, [0, 0, 0, 40, 20, 50, 10, 1, 0]),
        lambda p: box(p, [0, 0, 0], [100, 60, 120], 0.0, 10.0),
    ),
    "ellipsoid": (
        (ELLIPSOID, [0, 10, 0, 70, 30, 90, 1, 0]),
        lambda p: ellipsoid(p, [0, 10, 0], [70, 30, 90]),
    ),
}


@pytest.mark.parametrize("scene", list(SCENES))
@pytest.mark.parametrize("drawn", [False, True])
def test_a_rod_at_rest_is_not_a_tenth_of_a_millimetre_deep(scene: str, drawn: bool) -> None:
    row, away = SCENES[scene]
    rods = among(past_the_tube(), row)
    if drawn:
        state, outcome = pulled(rods, np.array([20.0]), 61)
    else:
        state, outcome = settled(rods, np.array([520.0]), 61)
    assert outcome.converged[0]
    assert outcome.stable[0]
    assert away(fine(state.nodes[0])).min() > RADIUS - 0.1
    if drawn:
        assert (state.touch_force > 0.0).any()


def test_pull_and_contact_balance() -> None:
    """All forces on a weightless rod drawn round a tube: the ends' pulls and the tube's push.

    The force on an end is the change of energy and pull times length as it moves, by differences.
    """
    rods = among(past_the_tube(), tube())
    pull = np.array([20.0])
    state, _ = pulled(rods, pull, 121)
    push = touches(rods, state, 0).force.sum(0)
    ends = np.zeros(3)
    for end in ("start", "end"):
        for axis in range(3):
            sides = []
            for sign in (1.0, -1.0):
                moved = replace(rods, **{end: getattr(rods, end) + sign * 0.05 * np.eye(3)[axis]})
                holds = holds_of([moved])
                (found,) = [
                    (s.copy(), o) for _, s, o in follow(rods, holds, [0], state.copy(), pull)
                ]
                assert found[1].converged[0]
                sides.append(energy(moved, found[0]) + 20.0 * found[0].length[0])
            ends[axis] += (sides[0] - sides[1]) / 0.1
    assert np.linalg.norm(push) > 2.0
    np.testing.assert_allclose(ends, -push, atol=0.01 * np.linalg.norm(push))


def energy(rods: Rods, state: State) -> float:
    # the places' springs hold energy too, but next to nothing
    return float(bending_energy(rods, state)[0] + load_energy(rods, state)[0])


def holds_of(poses: list[Rods]) -> Holds:
    names = ("start", "start_direction", "end", "end_direction", "guides")
    return Holds(*(np.stack([getattr(pose, name) for pose in poses]) for name in names))


def test_the_shape_does_not_jump_as_the_ends_move() -> None:
    """An end swings past a tube in steps of 0.5 mm: taut length and shape go smoothly."""
    base = among(past_the_tube(y=-40.0), tube())
    ends = np.linspace(-60, 40, 201)
    poses = [replace(base, end=np.array([[220.0, y, 30.0]])) for y in ends]
    state, _ = pulled(poses[0], np.array([20.0]), 61)
    lengths, shapes, touched = [], [], []
    for _, now, outcome in follow(
        poses[0], holds_of(poses), list(range(201)), state, np.array([20.0])
    ):
        assert outcome.converged[0]
        lengths.append(now.length[0])
        shapes.append(now.nodes[0].copy())
        touched.append((now.touch_force > 0.0).any())
    assert not touched[0]
    assert touched[-1]
    steps = np.linalg.norm(np.diff(shapes, axis=0), axis=2).max(1)
    assert steps.max() < 2.0  # four times what the end itself moves
    assert np.abs(np.diff(lengths, 2)).max() < 0.02


def test_a_mirrored_rod_is_pressed_alike() -> None:
    here = among(past_the_tube(), tube())
    mirrored = replace(past_the_tube(y=8.0), end_direction=(1, 0.2, 0))
    there = among(mirrored, tube())
    lengths = np.array([470.0])
    one, first = settled(here, lengths, 61)
    other, second = settled(there, lengths, 61)
    assert first.converged[0]
    assert second.converged[0]
    np.testing.assert_allclose(other.nodes[0] * [1, -1, 1], one.nodes[0], atol=1e-3)
    np.testing.assert_allclose(
        touches(there, other, 0).force.sum(0) * [1, -1, 1],
        touches(here, one, 0).force.sum(0),
        atol=1e-2,
    )


def test_a_solid_out_of_reach_changes_nothing() -> None:
    far = (CAPSULE, [0, 900, -200, 0, 900, 200, 25])
    lengths = np.array([520.0])
    alone, _ = settled(among(past_the_tube()), lengths, 61)
    beside, _ = settled(among(past_the_tube(), far), lengths, 61)
    np.testing.assert_allclose(beside.nodes, alone.nodes, atol=1e-9)


def test_blind_rods_pass_through() -> None:
    rods = among(past_the_tube(), tube())
    blind = replace(rods, blind=np.ones((1, 1), bool))
    alone, _ = settled(among(past_the_tube()), np.array([470.0]), 61)
    state, _ = settled(blind, np.array([470.0]), 61)
    np.testing.assert_allclose(state.nodes, alone.nodes, atol=1e-9)


def test_a_plug_inside_a_solid_is_not_pushed_out() -> None:
    """A line that starts in the middle of a lamp leaves it without a force at its plug."""
    lamp = (ELLIPSOID, [-220, 0, 0, 60, 60, 60, 1, 0])
    span = replace(past_the_tube(), start=(-220, 0, 0))
    state, outcome = settled(among(span, lamp), np.array([520.0]), 61)
    alone, _ = settled(among(span), np.array([520.0]), 61)
    assert outcome.converged[0]
    np.testing.assert_allclose(state.nodes, alone.nodes, atol=1e-6)


def test_weight_rests_on_a_table() -> None:
    """A slack heavy line on a flat box: what the box carries is what the ends do not."""
    table = (BOX, [0, 0, -40, 150, 90, 20, 8, 1, 0])
    span = Span((-200, 0, 0), (1, 0, 0), (200, 0, 0), (1, 0, 0), 430.0, 1e4, 0.02, nodes=91)
    rods = among(span, table)
    state, outcome = settled(rods, np.array([430.0]), 91)
    assert outcome.converged[0]
    found = touches(rods, state, 0)
    assert len(found.at) > 10
    carried = found.force[:, 2].sum()
    assert 0.3 * 430 * 0.02 < carried < 430 * 0.02
    # the part that lies flat presses with its own weight
    flat = (found.at > 160) & (found.at < 270)
    assert found.force[flat, 2].sum() == pytest.approx(0.02 * 110, rel=0.08)


def test_let_out_and_drawn_in_again_ends_where_it_began() -> None:
    rods = among(past_the_tube(), tube())
    state, _ = settled(rods, np.array([480.0]), 61)
    before = state.nodes.copy()
    let_out(rods, state, np.array([500.0]))
    outcome = let_out(rods, state, np.array([480.0]))
    assert outcome.converged[0]
    np.testing.assert_allclose(state.nodes, before, atol=0.01)
