"""What has to come off the machine before a hand reaches a station of a line."""

from __future__ import annotations

import numpy as np

from barfit.geometry.parts import shape_distance
from barfit.model import Body, PointPlace, Role, Setup, Station

UNDER = 250.0  # mm: what lies so deep below a tank is reached with the tank off (estimate)
BEHIND = 60.0  # mm from a fairing or headlamp: it is in the way (estimate)
_STEP = 5.0


def under_tank(setup: Setup, station: Station) -> bool:
    """Whether a tank is straight above a station on the frame, not more than 250 mm up, or the
    station is in it.
    """
    place = station.place
    if not isinstance(place, PointPlace) or place.body is not Body.FRAME:
        return False
    up = np.arange(0.0, UNDER + _STEP, _STEP)
    points = np.array(place.position) + up[:, None] * np.array([0.0, 0.0, 1.0])
    return any(
        bool((shape_distance(solid.shape, points) <= 0.0).any())
        for solid in setup.machine.solids
        if solid.role is Role.TANK
    )


def behind(setup: Setup, station: Station, role: Role) -> bool:
    """Whether a station on the machine is in or within 60 mm of a solid of that role, and rides on
    the same body: a tank or shell that passes by at one turn is in nobody's way at another.
    """
    place = station.place
    if not isinstance(place, PointPlace):
        return False
    point = np.array([place.position])
    return any(
        bool(shape_distance(solid.shape, point)[0] <= BEHIND)
        for solid in setup.machine.solids
        if solid.role is role and solid.body is place.body
    )
