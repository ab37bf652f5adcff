"""Distances by shape, and the clips and guides of a setup as obstacles."""

from __future__ import annotations

import numpy as np
import pytest

from barfit.geometry import solids
from barfit.geometry.parts import holders, shape_distance, shape_distance_with_gradient
from barfit.geometry.pose import layout
from barfit.model import Body, Box, Capsule, Ellipsoid, Hold, Setup, Shape

CLOUD = np.random.default_rng(8).normal(scale=120.0, size=(300, 3))


@pytest.mark.parametrize(
    ("shape", "exact"),
    [
        (
            Capsule((10.0, 5.0, -20.0), (80.0, -40.0, 30.0), 15.0),
            solids.capsule(CLOUD, [10.0, 5.0, -20.0], [80.0, -40.0, 30.0], 15.0),
        ),
        (
            Ellipsoid((10.0, 5.0, -20.0), (90.0, 40.0, 30.0), 0.4),
            solids.ellipsoid(CLOUD, [10.0, 5.0, -20.0], [90.0, 40.0, 30.0], 0.4),
        ),
        (
            Box((10.0, 5.0, -20.0), (90.0, 40.0, 30.0), -0.4, 9.0),
            solids.box(CLOUD, [10.0, 5.0, -20.0], [90.0, 40.0, 30.0], -0.4, 9.0),
        ),
    ],
)
def test_each_shape_has_its_own_distance(shape: Shape, exact: np.ndarray) -> None:
    values, gradients = shape_distance_with_gradient(shape, CLOUD)
    assert values == pytest.approx(exact)
    assert shape_distance(shape, CLOUD) == pytest.approx(exact)
    assert np.linalg.norm(gradients, axis=1) == pytest.approx(np.ones(len(CLOUD)))


def test_every_clip_and_guide_is_an_obstacle_and_no_fitting_is(cruiser: Setup) -> None:
    found = holders(cruiser, layout(cruiser, cruiser.stock))
    held = [
        (line.name, station.name)
        for line in cruiser.lines
        for station in line.stations
        if station.hold is not Hold.FITTING
    ]
    assert [(holder.line, holder.station) for holder in found] == held
    clip = next(h for h in found if h.station == "clip on the left slider")
    assert clip.body is Body.LOWER_FORK
    assert clip.centre == pytest.approx([288.0, 88.0, -463.0])
    assert clip.radius == cruiser.line("front brake hose").diameter / 2.0 + 2.0


def test_a_holder_on_the_bar_moves_with_it(cruiser: Setup) -> None:
    stock, new = (
        next(
            h
            for h in holders(cruiser, layout(cruiser, bars))
            if h.station == "tie on the bar, above"
        )
        for bars in (cruiser.stock, cruiser.new)
    )
    assert stock.body is Body.STEERING
    assert new.centre[2] - stock.centre[2] > 100.0
    assert stock.centre == pytest.approx(layout(cruiser, cruiser.stock)[stock.line].points[1])
