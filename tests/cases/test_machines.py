"""The bundled machines: with stock bars everything fits, with the new ones what should fail does.

The expected numbers were written down when the machines were laid out; they guard the whole chain
from file to verdict, taking every number of the file as exact. Whether the solver behind them is
right is for tests/physics to say.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import LineFinding, Sweep, Verdict, findings, problems, sweep
from barfit.catalogue import scenario_dir
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import body_motion, layout
from barfit.model import EXACT, Body, Capsule, Role
from barfit.trade.hose_path import brake_sides, disc_distance, gap, wheel_distance

MACHINES = ("tall-bar-cruiser", "touring-hydraulic", "naked-standard", "old-twin", "hidden-wires")

_done: dict[tuple[str, bool], tuple[Sweep, dict[str, LineFinding]]] = {}


def judged(name: str, stock: bool) -> tuple[Sweep, dict[str, LineFinding]]:
    if (name, stock) not in _done:
        setup = scenario.load(scenario_dir() / f"{name}.toml")
        lines = tuple(replace(line, found_slack=None) for line in setup.lines)
        setup = replace(setup, lines=lines, uncertainty=EXACT)
        swept = sweep(setup, stock=stock)
        _done[name, stock] = swept, {found.line: found for found in findings(swept)}
    return _done[name, stock]


@pytest.mark.parametrize("name", MACHINES)
def test_it_can_be_laid_out(name: str) -> None:
    setup = scenario.load(scenario_dir() / f"{name}.toml")
    assert problems(setup) == []
    assert 6 <= len(setup.lines) <= 12


@pytest.mark.parametrize("name", MACHINES)
def test_every_stock_line_fits_the_stock_bar(name: str) -> None:
    _, found = judged(name, stock=True)
    assert {line: f.verdict for line, f in found.items() if not f.fits} == {}


@pytest.mark.parametrize("name", MACHINES)
def test_the_steering_stops_meet_at_the_locks_and_nowhere_before(name: str) -> None:
    machine = scenario.load(scenario_dir() / f"{name}.toml").machine
    stops = [s for s in machine.solids if s.role is Role.STOP]
    fixed = next(s.shape for s in stops if s.body is Body.FRAME)
    assert isinstance(fixed, Capsule)

    def gap(turn: float) -> float:
        """The least distance from the lug on the frame to those on the steering."""
        rotation, shift = body_motion(machine, Body.STEERING, turn, 0.0)
        share = np.linspace(0.0, 1.0, 201)[:, None]
        least = math.inf
        for stop in stops:
            if stop.body is Body.STEERING:
                assert isinstance(stop.shape, Capsule)
                axis = (1.0 - share) * np.array(stop.shape.start) + share * np.array(stop.shape.end)
                away = shape_distance(fixed, axis @ rotation.T + shift)
                least = min(least, float(away.min()) - stop.shape.radius)
        return least

    for lock in (machine.lock_left, -machine.lock_right):
        assert gap(lock) == pytest.approx(0.0, abs=0.1)
        assert gap(0.98 * lock) > 0.3
    assert gap(0.0) > 20.0


@pytest.mark.parametrize("name", MACHINES)
def test_stock_lines_run_beside_the_machine_not_through_it(name: str) -> None:
    swept, _ = judged(name, stock=True)
    for line in swept.lines:
        for solid in swept.setup.machine.solids:
            clear = gap(swept, line, solid.body, partial(shape_distance, solid.shape))
            # where a line and the machine do touch, they do so lightly
            assert clear.value > -2.0, f"{line.name} in {solid.name}"


@pytest.mark.parametrize("name", MACHINES)
def test_stock_lines_keep_clear_of_what_spins_and_rub_on_nothing(name: str) -> None:
    swept, found = judged(name, stock=True)
    machine = swept.setup.machine
    discs = disc_distance(machine, brake_sides(swept.setup))
    spinning = {"wheel": wheel_distance(machine)} | ({"disc": discs} if discs else {})
    for line in swept.lines:
        touched = found[line.name].touches
        assert not [touch.part for touch in touched if touch.rubs], line.name
        assert found[line.name].pinches == (), line.name
        for part, distance in spinning.items():
            # 15 mm are common practice; a speedometer cable on its way to the hub comes closer
            least = 7.0 if line.name == "speedometer cable" else 14.0
            clear = gap(swept, line, Body.LOWER_FORK, distance)
            assert clear.value > least, f"{line.name} at the {part}"


@pytest.mark.parametrize("stock", [True, False])
@pytest.mark.parametrize("name", MACHINES)
def test_every_pose_settles(name: str, stock: bool) -> None:
    swept, _ = judged(name, stock)
    for line in swept.lines:
        assert line.converged.all(), line.name
        assert np.isfinite(line.shapes).all()


@pytest.mark.parametrize(
    ("name", "line", "verdict", "slack", "needed"),
    [
        ("naked-standard", "throttle return cable", Verdict.SHORT, -12.9, 735.6),
        ("naked-standard", "clutch cable", Verdict.SHORT, -12.6, 1086.4),
        ("naked-standard", "brake hose to the splitter", Verdict.SHORT, -21.5, 526.5),
        ("naked-standard", "left caliper hose", Verdict.REACHES, 19.9, 478.1),
        ("old-twin", "throttle cable", Verdict.BEND_TOO_TIGHT, 20.4, 608.3),
        ("old-twin", "clutch cable", Verdict.MARGINAL, 10.3, 937.0),
        ("old-twin", "front brake cable", Verdict.SHORT, -8.5, 951.5),
        ("old-twin", "speedometer cable", Verdict.REACHES, 29.5, 750.5),
        ("tall-bar-cruiser", "clutch cable", Verdict.SHORT, -119.2, 1328.3),
        ("tall-bar-cruiser", "left heated-grip lead", Verdict.SHORT, -22.8, 802.7),
        ("touring-hydraulic", "brake hose to the modulator", Verdict.SHORT, -11.7, 957.1),
        ("touring-hydraulic", "brake hose to the splitter", Verdict.REACHES, 45.4, 417.3),
        ("hidden-wires", "left switch harness", Verdict.SHORT, -146.9, 814.9),
        ("hidden-wires", "left heated-grip lead", Verdict.SHORT, -34.5, 810.6),
    ],
)
def test_the_new_bar(name: str, line: str, verdict: Verdict, slack: float, needed: float) -> None:
    found = judged(name, stock=False)[1][line]
    assert found.verdict is verdict
    assert found.slack == pytest.approx(slack, abs=0.5)
    assert found.needed == pytest.approx(needed, abs=1.0)


def test_lines_that_go_tight_part_way_say_where() -> None:
    _, found = judged("naked-standard", stock=False)
    left, right = found["left switch harness"], found["right switch harness"]
    assert left.tight_left is None
    assert math.degrees(left.tight_right) == pytest.approx(-21.2, abs=0.2)
    # the machine is the same on both sides, and so is the answer
    assert right.tight_left == pytest.approx(-left.tight_right, abs=1e-3)
    assert right.slack == pytest.approx(left.slack, abs=0.02)


def test_a_hose_that_only_slides_is_tightest_with_the_fork_extended() -> None:
    swept, found = judged("old-twin", stock=False)
    cable = found["front brake cable"]
    assert cable.worst_travel == -swept.setup.machine.sag
    slack = swept.line("front brake cable").slack
    assert (np.diff(slack, axis=0) > 0.0).all(), "compression only ever adds slack here"


def test_a_line_from_steering_to_steering_does_not_care_about_the_turn() -> None:
    swept, _ = judged("naked-standard", stock=True)
    slack = swept.line("brake hose to the splitter").slack
    assert np.ptp(slack) < 0.2  # what is left is its weight hanging another way


@pytest.mark.parametrize("stock", [True, False])
@pytest.mark.parametrize("name", MACHINES)
def test_the_numbers_agree_with_each_other(name: str, stock: bool) -> None:
    swept, found = judged(name, stock)
    for line in swept.lines:
        f = found[line.name]
        # refined between the poses of the sweep, it is no more than the least of theirs
        assert np.min(line.slack) - 1.0 < f.slack <= np.min(line.slack)
        assert f.margin == pytest.approx(f.installed - f.needed)
        # the stretches between stations share the slack of the span that has least
        if len(line.spans) == 1:
            moving = np.isfinite(line.segment_slack)  # all but what lies inside the bar
            spare = np.where(moving, line.segment_slack, 0.0).sum(-1)
            np.testing.assert_allclose(spare, line.slack, atol=1e-6)
        # no line can be shorter than the straight way between neighbouring stations
        short = line.slack < 0.0
        chord = np.linalg.norm(np.diff(line.shapes, axis=2), axis=-1).sum(-1)
        if len(line.spans) == 1 and (~short).any():
            assert chord[~short] == pytest.approx(f.installed, rel=2e-3)
        assert (
            line.taut > np.linalg.norm(line.shapes[:, :, 0] - line.shapes[:, :, -1], axis=-1)
        ).all()


@pytest.mark.parametrize("name", MACHINES)
def test_the_ends_are_where_the_machine_has_them(name: str) -> None:
    swept, _ = judged(name, stock=False)
    places = layout(swept.setup, swept.setup.new)
    for line in swept.lines:
        where = places[line.name]
        for at, travel in enumerate(line.travels):
            for turn in (0, len(swept.angles) // 3, -1):
                for end in (0, -1):  # a line inside the bar begins at its control all the same
                    rotation, shift = body_motion(
                        swept.setup.machine, where.bodies[end], swept.angles[turn], travel
                    )
                    expected = rotation @ where.points[end] + shift
                    assert line.shapes[at, turn, end] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("name", MACHINES)
def test_slack_found_on_the_stock_machine_agrees_with_it_and_narrows_every_band(name: str) -> None:
    setup = scenario.load(scenario_dir() / f"{name}.toml")
    for stock in (True, False):
        judged = findings(sweep(setup, stock=stock, step=math.radians(4.0)))
        known = [found.sure for found in judged if not math.isnan(found.sure.before)]
        # where a bend hardly opens, the band is not known: one line, or the same on both sides
        assert len(known) >= len(judged) - 2
        assert all(sure.sigma < sure.before for sure in known)
        assert all(found.sure.odd == () for found in judged)
