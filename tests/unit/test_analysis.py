"""The sweep and its findings on small setups made for one question each."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import Cancelled, Verdict, doubts, findings, problems, sweep
from barfit.model import EXACT, Body, Ellipsoid, Hold, Line, PointPlace, Setup, Station

STEP = math.radians(5)


def line(setup: Setup, length: float, **changes: object) -> Setup:
    """The setup with one brake hose of that length, from the steering to the frame, as if
    everything about it were known exactly.
    """
    start = Station(
        "top", Hold.FITTING, PointPlace(Body.STEERING, (-60.0, 200.0, 80.0)), (0.6, -0.8, 0.0)
    )
    end = Station(
        "bottom", Hold.FITTING, PointPlace(Body.FRAME, (60.0, 40.0, -200.0)), (0.0, 0.0, 1.0)
    )
    hose = Line("hose", "brake_hose", 10.0, length, (start, end))
    return replace(setup, lines=(replace(hose, **changes),), uncertainty=EXACT)


def test_slack_is_installed_less_taut_length(cruiser: Setup) -> None:
    first = sweep(line(cruiser, 500.0), step=STEP).lines[0]
    second = sweep(line(cruiser, 540.0), step=STEP).lines[0]
    np.testing.assert_allclose(first.taut, second.taut, atol=1e-6)
    np.testing.assert_allclose(second.slack - first.slack, 40.0, atol=1e-6)


def test_verdicts_follow_the_length(cruiser: Setup) -> None:
    taut = float(sweep(line(cruiser, 500.0), step=STEP).lines[0].taut.max())
    verdicts = []
    for length in (taut - 5.0, taut + 0.5, taut + 30.0, taut + 220.0):
        found = findings(sweep(line(cruiser, length, min_radius=15.0), step=STEP))[0]
        verdicts.append(found.verdict)
        assert found.slack == pytest.approx(length - taut, abs=0.05)
    assert verdicts == [Verdict.SHORT, Verdict.MARGINAL, Verdict.REACHES, Verdict.TOO_LONG]


def test_needed_length_makes_the_line_fit(cruiser: Setup) -> None:
    """A line made as long as it says it needs has no margin left, and no bend too tight."""
    found = findings(sweep(line(cruiser, 440.0), step=STEP))[0]
    assert found.bend_length > found.taut_length  # the bend decides here, not the pull
    again = findings(sweep(line(cruiser, found.needed + 0.5), step=STEP))[0]
    assert again.margin == pytest.approx(0.5, abs=0.2)
    assert again.fits
    assert again.min_radius >= again.allowed_radius
    shorter = findings(sweep(line(cruiser, found.bend_length - 2.0), step=STEP))[0]
    assert shorter.verdict is Verdict.BEND_TOO_TIGHT


def test_a_bend_no_length_cures_is_named(cruiser: Setup) -> None:
    found = findings(sweep(line(cruiser, 560.0, min_radius=300.0), step=STEP))[0]
    assert found.verdict is Verdict.BEND_TOO_TIGHT
    assert math.isnan(found.needed)
    assert "no length" in found.why
    assert "top" in found.why or "bottom" in found.why


def test_the_tight_angle_does_not_hang_on_the_step(cruiser: Setup) -> None:
    taut = sweep(line(cruiser, 500.0), step=math.radians(1)).lines[0].taut[0]
    length = float(0.5 * (taut.max() + taut[len(taut) // 2]))
    fine = findings(sweep(line(cruiser, length), step=math.radians(0.5)))[0]
    coarse = findings(sweep(line(cruiser, length), step=math.radians(4)))[0]
    for a, b in ((fine.tight_left, coarse.tight_left), (fine.tight_right, coarse.tight_right)):
        assert (a is None) == (b is None)
        if a is not None and b is not None:
            assert math.degrees(a) == pytest.approx(math.degrees(b), abs=0.05)


def test_a_mirrored_line_gives_the_mirrored_answer(cruiser: Setup) -> None:
    setup = line(cruiser, 520.0)
    hose = setup.lines[0]

    def flip(station: Station) -> Station:
        place = station.place
        assert isinstance(place, PointPlace)
        assert station.direction is not None
        (x, y, z), (a, b, c) = place.position, station.direction
        return replace(station, place=replace(place, position=(x, -y, z)), direction=(a, -b, c))

    mirrored = replace(hose, stations=tuple(flip(s) for s in hose.stations))
    one = sweep(setup, step=STEP).lines[0]
    two = sweep(replace(setup, lines=(mirrored,)), step=STEP).lines[0]
    assert setup.machine.lock_left == setup.machine.lock_right
    np.testing.assert_allclose(two.slack, one.slack[:, ::-1], atol=1e-3)
    np.testing.assert_allclose(two.min_radius, one.min_radius[:, ::-1], rtol=1e-3)
    np.testing.assert_allclose(
        two.shapes, one.shapes[:, ::-1] * np.array([1.0, -1.0, 1.0]), atol=0.05
    )


def test_a_sweep_is_read_only(cruiser: Setup) -> None:
    swept = sweep(line(cruiser, 520.0), step=STEP).lines[0]
    with pytest.raises(ValueError, match="read-only"):
        swept.slack[0, 0] = 0.0


def test_progress_rises_to_one_and_cancelling_stops(cruiser: Setup) -> None:
    seen: list[float] = []
    sweep(line(cruiser, 520.0), step=STEP, progress=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == pytest.approx(1.0, abs=0.05)
    with pytest.raises(Cancelled):
        sweep(line(cruiser, 520.0), step=STEP, cancelled=lambda: True)


def test_a_line_shorter_than_its_rigid_ends_is_a_problem(cruiser: Setup) -> None:
    setup = line(cruiser, 520.0)
    hose = setup.lines[0]
    stubbed = tuple(replace(station, stub=260.0) for station in hose.stations)
    found = problems(replace(setup, lines=(replace(hose, stations=stubbed),)))
    assert len(found) == 1
    assert "hose" in found[0]
    assert "rigid ends" in found[0]


def test_a_line_shorter_than_the_straight_way_is_a_finding(cruiser: Setup) -> None:
    found = findings(sweep(line(cruiser, 200.0), step=STEP))[0]
    assert found.verdict is Verdict.SHORT
    assert found.slack < -100.0
    assert found.tight_left == found.tight_right == 0.0


def test_a_guide_inside_the_tank_is_doubted() -> None:
    path = next(path for path in scenario.bundled() if path.name == "tall-bar-cruiser.toml")
    setup = scenario.load(path)
    assert doubts(setup, stock=True) == []
    line = setup.line("left switch harness")
    number = next(k for k, one in enumerate(line.stations) if "head tube" in one.name)
    tank = next(solid.shape for solid in setup.machine.solids if solid.name == "tank")
    assert isinstance(tank, Ellipsoid)
    inside = replace(line.stations[number], place=PointPlace(Body.FRAME, tank.centre))
    stations = (*line.stations[:number], inside, *line.stations[number + 1 :])
    moved = replace(setup, lines=(replace(line, stations=stations),))
    (said,) = doubts(moved, stock=True)
    # from its middle the tank's top is nearest
    assert said == (
        f"Station '{inside.name}' of the left switch harness is {min(tank.semi_axes):.0f} mm "
        "inside the tank: check its position in the file."
    )
