"""Needed and longest lengths and stops against brute force, bounds and cold solves."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from barfit import scenario
from barfit.analysis import Cancelled, LineFinding, Sweep, Verdict, findings, sweep, window
from barfit.analysis.lengths import bend_lengths, span_needs
from barfit.analysis.probes import Probe, all_spans
from barfit.analysis.spans import held
from barfit.analysis.tables import STIFF
from barfit.analysis.window import Limit
from barfit.analysis.work import Work
from barfit.bench.dubins import dubins_length
from barfit.catalogue import line_kinds, scenario_dir
from barfit.mechanics import Span, settle, taut
from barfit.mechanics.bows import bow
from barfit.mechanics.settle import batch_of_one
from barfit.mechanics.stability import stiffness
from barfit.mechanics.start import settled
from barfit.model import (
    Body,
    Capsule,
    Hold,
    Line,
    PointPlace,
    Role,
    Setup,
    Solid,
    Station,
    Vec,
)

few = settings(max_examples=8, deadline=None, derandomize=True)
seeds = st.integers(0, 10**6)


@cache
def _cruiser() -> Setup:
    """For tests by hypothesis, which would print a fixture in full."""
    return scenario.load(scenario_dir() / "tall-bar-cruiser.toml")


def hose(
    setup: Setup,
    body: Body,
    start: Vec,
    end: Vec,
    length: float,
    leaves: Vec = (0.6, -0.8, 0.0),
    arrives: Vec = (0.0, 0.0, 1.0),
    **changes: object,
) -> Setup:
    """The setup with one brake hose, from a point of that body to one of the frame."""
    stations = (
        Station("top", Hold.FITTING, PointPlace(body, start), leaves),
        Station("bottom", Hold.FITTING, PointPlace(Body.FRAME, end), arrives),
    )
    line = Line("hose", "brake_hose", 10.0, length, stations)
    return replace(setup, lines=(replace(line, **changes),))


def opposite(setup: Setup, length: float) -> Setup:
    """A hose that takes most line part way: its fittings face each other over the axis."""
    return hose(setup, Body.STEERING, (-60.0, 200.0, 80.0), (28.0, -96.0, -150.0), length)


def span_at(swept: Sweep, turn: float, travel: float, length: float) -> Span:
    """The only span of a sweep's first line at a pose, to be solved on its own from cold."""
    case = swept.lines[0].spans[0].case
    start, leaves, end, arrives, guides, *_ = held(
        swept.setup, case, np.array([turn]), np.array([travel])
    )
    return Span(
        start[0], leaves[0], end[0], arrives[0], length, case.ei, case.weight, guides[0],
        axial_stiffness=case.ea, nodes=121,
    )  # fmt: skip


@pytest.mark.parametrize("step", [7.0, 17.0])
def test_the_worst_turn_is_found_between_the_poses(cruiser: Setup, step: float) -> None:
    """Against a sweep at every tenth of a degree; from poses so far apart that they miss it."""
    setup = opposite(cruiser, 600.0)
    coarse = sweep(setup, step=math.radians(step), contact=False)
    need = span_needs(coarse)["hose"][0]
    fine = sweep(setup, step=math.radians(0.1), contact=False)
    lengths = fine.lines[0].taut[0]
    assert need.taut == pytest.approx(lengths.max(), abs=0.05)
    assert math.degrees(need.turn) == pytest.approx(
        math.degrees(fine.angles[lengths.argmax()]), abs=1.0
    )
    assert coarse.lines[0].taut.max() < need.taut - 0.05, "the poses alone would have missed it"
    found = findings(coarse)[0]
    assert (found.worst_turn, found.slack) == (need.turn, 600.0 - need.taut)


@pytest.mark.parametrize("name", ["left caliper hose", "speedometer cable"])
def test_the_worst_pose_may_be_anywhere_in_turn_and_travel(name: str) -> None:
    """Against rides at nine travels, and turns a tenth of a degree apart near the worst."""
    machine = "touring-hydraulic" if "caliper" in name else "old-twin"
    own = scenario.load(scenario_dir() / f"{machine}.toml")
    setup = replace(own, lines=(own.line(name),))
    swept = sweep(setup, contact=False)
    need = span_needs(swept)[name][0]
    low, high = swept.lines[0].travels[[0, -1]]
    tauts, bends = [], []
    for sag in np.linspace(0.5, -low, 4):
        other = replace(setup.machine, sag=float(sag), travel=float(sag + (high if sag > 1 else 9)))
        ride = sweep(replace(setup, machine=other), step=math.radians(3.0), contact=False)
        tauts.append(float(ride.lines[0].spans[0].taut_length.max()))
        spans = all_spans(ride)
        near = np.clip(
            need.bend_turn + np.radians(np.arange(-1.0, 1.01, 0.1)), *ride.angles[[0, -1]]
        )
        poses = [(float(t), float(s)) for s in ride.lines[0].travels for t in (*ride.angles, *near)]
        bends.append(bend_lengths(ride, spans, [Probe(0, t, s) for t, s in poses]).max())
    assert need.taut >= max(tauts) - 0.05
    assert need.taut == pytest.approx(max(tauts), abs=1.0)
    assert need.least == pytest.approx(max(*tauts, *bends), abs=1.0)


@few
@given(seeds)
def test_where_a_line_goes_tight_is_good_to_a_tenth_of_a_degree(seed: int) -> None:
    """Cold solves a tenth of a degree before and after the angle: it has slack, and has none."""
    rng = np.random.default_rng(seed)
    top = tuple(np.array([-60.0, 200.0, 80.0]) + rng.uniform(-40, 40, 3))
    end = tuple(np.array([60.0, 40.0, -200.0]) + rng.uniform(-40, 40, 3))
    setup = hose(_cruiser(), Body.STEERING, top, end, 500.0)  # type: ignore[arg-type]
    lengths = sweep(setup, step=math.radians(4.0), contact=False).lines[0].taut[0]
    middle = lengths[len(lengths) // 2]
    length = float(middle + rng.uniform(0.2, 0.7) * (lengths.max() - middle))
    swept = sweep(
        hose(_cruiser(), Body.STEERING, top, end, length),  # type: ignore[arg-type]
        step=math.radians(4.0),
        contact=False,
    )
    found = findings(swept)[0]
    stops = [stop for stop in (found.stops.right, found.stops.left) if stop is not None]
    assert stops
    for stop in stops:
        outward = math.copysign(math.radians(0.1), stop.turn)
        before, after = (
            taut(replace(span, axial_stiffness=STIFF, nodes=401)).length
            for side in (-1.0, 1.0)
            for span in [span_at(swept, stop.turn + side * outward, 0.0, length)]
        )
        assume(after - before > 0.02)  # mm; where it hardly rises, no mesh places it so well
        assert before < length < after


def test_the_fork_position_at_which_a_line_goes_tight_first_is_named(cruiser: Setup) -> None:
    setup = hose(cruiser, Body.LOWER_FORK, (150.0, 120.0, -250.0), (-60.0, -60.0, -100.0), 600.0)
    swept = sweep(setup, step=math.radians(2.0), contact=False)
    table = swept.lines[0].taut
    middle = table.shape[1] // 2
    extended, ride = table[0], table[1]
    assert extended[middle] > ride[middle], "the extended fork takes more line"
    length = 0.5 * (extended[middle] + extended.max())
    setup = hose(cruiser, Body.LOWER_FORK, (150.0, 120.0, -250.0), (-60.0, -60.0, -100.0), length)
    found = findings(sweep(setup, step=math.radians(2.0), contact=False))[0]
    stops = [stop for stop in (found.stops.right, found.stops.left) if stop is not None]
    assert stops
    assert {stop.travel for stop in stops} == {-cruiser.machine.sag}


@cache
def _loose(seed: int) -> tuple[Sweep, LineFinding]:
    rng = np.random.default_rng(seed)
    top = tuple(np.array([-60.0, 200.0, 80.0]) + rng.uniform(-40, 40, 3))
    end = tuple(np.array([60.0, 40.0, -200.0]) + rng.uniform(-60, 60, 3))
    own = scenario.load(scenario_dir() / "naked-standard.toml")
    setup = hose(own, Body.STEERING, top, end, 520.0, min_radius=25.0)  # type: ignore[arg-type]
    swept = sweep(setup, step=math.radians(3.0), contact=False)
    return swept, findings(swept)[0]


@pytest.mark.parametrize("seed", range(4))
def test_the_longest_length_is_where_the_line_first_bows_too_far(seed: int) -> None:
    """Cold solves at every third degree: at that length no pose bows further, at 2 mm more one
    does."""
    swept, found = _loose(seed)
    window = found.window
    assert window is not None
    assert window.limit is Limit.BOW
    limit = line_kinds()["brake_hose"].max_bow
    assert window.max_bow == limit
    bows = []
    for length in (window.longest - 1.0, window.longest + 1.0):
        furthest = 0.0
        for turn in {*swept.angles[::3], window.turn}:
            path = taut(span_at(swept, float(turn), 0.0, length)).points
            shape = settle(span_at(swept, float(turn), 0.0, length))
            assert shape.converged
            furthest = max(furthest, float(bow(shape.points[None], path[None])[0]))
        bows.append(furthest)
    assert bows[0] < limit < bows[1]


def test_a_longer_line_than_the_window_is_too_long_unless_it_is_the_next_size() -> None:
    swept, found = _loose(0)
    assert found.window is not None
    kind = line_kinds()["brake_hose"]
    need = found.installed - found.slack  # taut
    for length in (found.window.longest - 2.0, found.window.longest + 2.0):
        line = replace(swept.setup.lines[0], length=length)
        again = findings(
            sweep(replace(swept.setup, lines=(line,)), step=math.radians(3.0), contact=False)
        )[0]
        next_size = length <= need + kind.target_slack + kind.increment
        too_long = length > found.window.longest and not next_size
        assert (again.verdict is Verdict.TOO_LONG) == too_long
        assert (again.excess > again.max_excess) == too_long


def test_looking_for_tighter_bends_stops_when_nobody_wants_it(
    cruiser: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tuple(one for one in cruiser.lines if one.kind == "throttle_pull")
    swept = sweep(replace(cruiser, lines=kept), step=math.radians(4.0))
    entered: list[bool] = []
    kept_at = window.bent_at

    def asked(*args: object) -> object:
        entered.append(True)
        return kept_at(*args)  # type: ignore[arg-type]

    monkeypatch.setattr(window, "bent_at", asked)
    with pytest.raises(Cancelled):
        window.span_longest(swept, span_needs(swept), Work(1, None, lambda: bool(entered)))
    assert entered


def test_a_coiled_line_loops_before_it_bows(cruiser: Setup) -> None:
    """Two fittings close together that point the same way: line let out between them curls up."""
    setup = hose(
        cruiser, Body.FRAME, (0.0, 100.0, 0.0), (0.0, 120.0, 0.0), 80.0,
        leaves=(0.0, 1.0, 0.0), arrives=(0.0, -1.0, 0.0), min_radius=1.0, diameter=3.0,
        weight=1e-6,
    )  # fmt: skip
    found = findings(sweep(setup, step=math.radians(20.0), contact=False))[0]
    assert found.window is not None
    assert found.window.limit in (Limit.LOOP, Limit.ITSELF)
    assert found.window.longest < 20.0 + 2.0 * found.window.max_bow


def test_touching_the_machine_limits_a_line_that_is_clear_of_it_when_shorter() -> None:
    """A hot post stands where the line bows out to: at the longest length it as good as touches."""
    swept, free = _loose(0)
    assert free.window is not None
    assert not free.window.touch_judged
    window = free.window
    shape = settle(span_at(swept, window.turn, 0.0, window.longest))
    path = taut(span_at(swept, window.turn, 0.0, window.longest)).points
    away = np.linalg.norm(shape.points[:, None] - path[None], axis=-1)
    k = int(away.min(1).argmax())
    out = shape.points[k] - path[int(away[k].argmin())]
    out /= np.linalg.norm(out)
    # the centre of a ball of 15 mm, 10 mm further in than the furthest the line would get
    centre = shape.points[k] + 10.0 * out
    ball = Solid("post", Role.ENGINE, Body.FRAME, Capsule(tuple(centre), tuple(centre), 15.0))
    machine = replace(swept.setup.machine, solids=(ball,))
    again = sweep(replace(swept.setup, machine=machine), step=math.radians(3.0), contact=True)
    found = findings(again)[0].window
    assert found is not None
    assert found.touch_judged
    assert (found.limit, found.part) == (Limit.TOUCH, "post")
    assert found.needed == pytest.approx(window.needed, abs=0.1)
    assert found.needed < found.longest < window.longest
    clearances = []
    for length in (found.longest - 2.0, found.longest + 2.0):
        points = settle(span_at(swept, found.turn, 0.0, length)).points
        clearances.append(np.linalg.norm(points - centre, axis=1).min() - 15.0 - 5.0)
    assert clearances[1] < 0.5 < clearances[0]


def _planar(setup: Setup, height: float) -> tuple[Setup, float, float]:
    """A hose in a plane straight down from the steering, whose upper end stands so high: with its
    chord and its Dubins bound straight ahead."""
    top, end = (120.0, 0.0, height), (60.0, 0.0, -300.0)
    planar = hose(setup, Body.STEERING, top, end, 900.0, leaves=(0.5, 0.0, -1.0), weight=1e-9)
    radius = line_kinds()["brake_hose"].min_radius
    bound = dubins_length(
        (top[0], top[2], math.atan2(-1.0, 0.5)), (end[0], end[2], -0.5 * math.pi), radius
    )
    return planar, math.dist(top, end), bound


def test_needed_length_grows_with_the_bar_and_keeps_its_bounds(cruiser: Setup) -> None:
    """A line running straight down: a higher bar never takes less of it, and it is never shorter
    than the chord or the shortest path of bounded curvature (Dubins 1957)."""
    needed = []
    for height in np.linspace(0.0, 300.0, 13):
        setup, chord, bound = _planar(cruiser, float(height))
        (need,) = span_needs(sweep(setup, step=math.radians(10.0), contact=False))["hose"]
        assert need.least >= chord
        assert need.least >= bound - 0.01
        needed.append(need.least)
    assert (np.diff(needed) > 0.0).all()


@few
@given(seeds)
def test_no_needed_length_is_under_its_chord(seed: int) -> None:
    rng = np.random.default_rng(seed)
    top = tuple(np.array([-60.0, 200.0, 80.0]) + rng.uniform(-60, 60, 3))
    end = tuple(np.array([60.0, 40.0, -200.0]) + rng.uniform(-60, 60, 3))
    leaves = tuple(rng.normal(size=3))
    setup = hose(_cruiser(), Body.STEERING, top, end, 600.0, leaves)  # type: ignore[arg-type]
    swept = sweep(setup, step=math.radians(10.0), contact=False)
    (need,) = span_needs(swept)["hose"]
    assert need.least >= np.linalg.norm(
        swept.lines[0].shapes[:, :, 0] - swept.lines[0].shapes[:, :, -1], axis=-1
    ).max() or math.isnan(need.least)


def test_the_shapes_that_decide_are_stable_and_a_saddle_is_not(cruiser: Setup) -> None:

    found = findings(sweep(opposite(cruiser, 430.0), step=math.radians(5.0), contact=False))[0]
    assert found.deciding
    assert all(pose.stable for pose in found.deciding)
    # Euler: a straight clamped rod, pushed together with more than its critical load, is a saddle
    length, ei = 400.0, 2e4
    critical = 4.0 * math.pi**2 * ei / length**2
    span = Span((0, 0, 0), (1, 0, 0), (length, 0, 0), (1, 0, 0), length, ei)
    rods = batch_of_one(span)
    state, _ = settled(rods, np.array([length]), 41)
    for share, sign in ((0.95, 1.0), (1.05, -1.0)):
        state.tensions[:] = -share * critical
        assert np.sign(stiffness(rods, state)[0]) == sign


def test_the_stiffness_does_not_hang_on_the_mesh(cruiser: Setup) -> None:

    span = Span((0, 0, 0), (1, 0, 0.3), (400, 0, 50), (1, 0.5, 0), 470.0, 2e4)
    values = []
    for nodes in (41, 81, 161):
        rods = batch_of_one(span)
        state, _ = settled(rods, np.array([span.length]), nodes)
        values.append(float(stiffness(rods, state)[0]))
    assert values[2] == pytest.approx(values[1], rel=0.02)
    assert values[1] == pytest.approx(values[0], rel=0.06)


def test_the_clamps_of_a_twisted_line_steady_it_as_numbers_say() -> None:
    """A straight clamped rod without pull bears a twisting moment up to 8.9868 EI / L, where
    tan(M L / 2 EI) = M L / 2 EI (Michell 1889, Zajac 1962; from memory)."""
    length, ei, nodes = 400.0, 2e4, 121
    span = Span((0, 0, 0), (1, 0, 0), (length, 0, 0), (1, 0, 0), length, ei, nodes=nodes)
    rods = replace(
        batch_of_one(span),
        twisting=np.array([ei]),
        start_frame=np.array([[0.0, 1.0, 0.0]]),
        end_frame=np.array([[0.0, 1.0, 0.0]]),
    )
    state, _ = settled(batch_of_one(span), np.array([length]), nodes)
    for share, sign in ((0.97, 1.0), (1.03, -1.0)):
        state.twist_moment = np.array([share * 8.9868 * ei / length])
        assert np.sign(stiffness(rods, state)[0]) == sign
