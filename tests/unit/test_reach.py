"""Points picked in a pose are taken back to straight ahead, and caught by surfaces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import body_motion
from barfit.model import Body, Capsule, Machine, Role, Solid


@pytest.fixture(scope="module")
def machine() -> Machine:
    return scenario.load(scenario.bundled()[0]).machine


@pytest.mark.parametrize("body", list(Body))
def test_a_point_goes_there_and_back(machine: Machine, body: Body) -> None:
    point = np.array([80.0, -120.0, 35.0])
    turned, shift = body_motion(machine, body, 0.4, 30.0)
    back = edits.taken_back(machine, body, turned @ point + shift, 0.4, 30.0)
    assert back == pytest.approx(tuple(point))
    way = np.array([0.6, 0.0, -0.8])
    assert edits.way_back(machine, body, 3.0 * (turned @ way), 0.4) == pytest.approx(tuple(way))


def test_a_surface_catches_what_comes_near_on_its_own_body(machine: Machine) -> None:
    rod = Capsule((0.0, 0.0, 0.0), (100.0, 0.0, 0.0), 20.0)
    machine = replace(machine, solids=(Solid("rod", Role.OTHER, Body.FRAME, rod),))
    point, name = edits.caught(machine, Body.FRAME, (50.0, 0.0, 30.0), 4.0)
    assert name == "rod"
    assert point == pytest.approx((50.0, 0.0, 24.0))
    assert shape_distance(rod, [point])[0] == pytest.approx(4.0)
    inside, _ = edits.caught(machine, Body.FRAME, (50.0, 0.0, 15.0), 4.0)
    assert inside == pytest.approx((50.0, 0.0, 24.0))
    far = (50.0, 0.0, 24.1 + 10.0)
    assert edits.caught(machine, Body.FRAME, far, 4.0) == (far, None)
    near = (50.0, 0.0, 30.0)
    assert edits.caught(machine, Body.STEERING, near, 4.0) == (near, None)
