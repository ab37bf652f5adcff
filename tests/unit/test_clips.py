"""Lines that clips divide: which span is short, and what sliding a clip would cure."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from barfit.analysis import Verdict, findings, sweep
from barfit.analysis.clips import _slides
from barfit.model import Body, Hold, Line, PointPlace, Setup, Station

STEP = math.radians(10)


def clipped_hose(setup: Setup, first: float, second: float) -> Setup:
    """A hose from the steering to a clip on the frame and on to the frame's rear, with so much
    between."""
    stations = (
        Station("top", Hold.FITTING, PointPlace(Body.STEERING, (-60, 200, 80)), (0.6, -0.8, 0)),
        Station(
            "clip", Hold.CLIP, PointPlace(Body.FRAME, (60.0, 40.0, -200.0)), (0, 0, -1.0),
            at_length=first,
        ),
        Station("end", Hold.FITTING, PointPlace(Body.FRAME, (0.0, 40.0, -520.0)), (0, 0, 1.0)),
    )  # fmt: skip
    hose = Line("hose", "brake_hose", 10.0, first + second, stations, min_radius=20.0)
    return replace(setup, lines=(hose,))


@pytest.fixture(scope="module")
def needs(cruiser: Setup) -> tuple[float, float]:
    """What the two spans need, found with plenty of line."""
    found = findings(sweep(clipped_hose(cruiser, 560.0, 460.0), step=STEP))[0]
    assert found.clipped is not None
    assert found.clipped.short == ()
    first, second = (span.needed for span in found.clipped.spans)
    return first, second


def test_a_clip_slides_by_what_is_short_where_the_other_span_can_spare_it(
    cruiser: Setup, needs: tuple[float, float]
) -> None:
    setup = clipped_hose(cruiser, needs[0] - 25.0, needs[1] + 40.0)
    found = findings(sweep(setup, step=STEP))[0]
    assert found.verdict is Verdict.SHORT
    assert found.clipped is not None
    (short,) = found.clipped.short
    assert short.between == ("top", "clip")
    assert short.spare == pytest.approx(-25.0, abs=0.1)
    (slide,) = found.clipped.slides
    assert (slide.clip, slide.towards) == ("clip", "end")
    assert slide.by == pytest.approx(25.0, abs=0.1)
    cured = clipped_hose(cruiser, needs[0] - 25.0 + slide.by, needs[1] + 40.0 - slide.by)
    assert findings(sweep(cured, step=STEP))[0].margin == pytest.approx(0.0, abs=0.1)


def test_the_other_way_round(cruiser: Setup, needs: tuple[float, float]) -> None:
    setup = clipped_hose(cruiser, needs[0] + 40.0, needs[1] - 10.0)
    found = findings(sweep(setup, step=STEP))[0].clipped
    assert found is not None
    (slide,) = found.slides
    assert (slide.clip, slide.towards) == ("clip", "top")
    assert slide.by == pytest.approx(10.0, abs=0.1)


def test_where_the_total_is_short_no_clip_cures_it(
    cruiser: Setup, needs: tuple[float, float]
) -> None:
    setup = clipped_hose(cruiser, needs[0] - 25.0, needs[1] + 10.0)
    found = findings(sweep(setup, step=STEP))[0].clipped
    assert found is not None
    assert found.slides == ()
    assert found.total_short == pytest.approx(15.0, abs=0.1)


def test_a_line_without_clips_has_no_such_part(cruiser: Setup) -> None:
    cable = cruiser.line("clutch cable")
    found = findings(sweep(replace(cruiser, lines=(cable,)), step=STEP))[0]
    assert found.clipped is None


@pytest.mark.parametrize(
    ("spare", "slides"),
    [
        ([-10.0, 5.0, 20.0], [10.0, 5.0]),  # through the middle span, which keeps what it needs
        ([-10.0, 15.0, 20.0], [10.0, 0.0]),
        ([20.0, -10.0, 4.0], [-10.0, 0.0]),
        ([4.0, -10.0, 8.0], [-4.0, 6.0]),
        ([3.0, 2.0], [0.0]),
    ],
)
def test_slides_are_as_short_as_will_do(spare: list[float], slides: list[float]) -> None:
    found = _slides(np.array(spare))
    assert np.abs(found).sum() == pytest.approx(np.abs(slides).sum(), abs=1e-6)
    ends = [0.0, *found, 0.0]
    gains = np.array([after - before for before, after in pairwise(ends)])
    assert (np.array(spare) + gains > -1e-6).all()
