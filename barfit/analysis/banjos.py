"""Which way the bolts of banjo fittings point."""

from __future__ import annotations

import numpy as np

from barfit.geometry.frames import Array
from barfit.geometry.pose import control_frame
from barfit.model import BarSet, HoseEnd, Line, OutletPlace, Setup


def bolt(setup: Setup, bars: BarSet, line: Line, last: bool, fitted: HoseEnd) -> Array | None:
    """The unit direction (3,) of a banjo's bolt straight ahead, from the part to its head; None
    where not given.
    """
    if fitted.bolt is None:
        return None
    given = np.array(fitted.bolt) / np.linalg.norm(fitted.bolt)
    place = line.stations[-1 if last else 0].place
    if isinstance(place, OutletPlace):
        control = next(one for one in setup.controls if one.name == place.control)
        axes = np.column_stack(control_frame(setup, bars, control)[1:])
        given = axes @ given
    return np.asarray(given)


def ends_bolt(setup: Setup, bars: BarSet, line: Line, last: bool) -> Array | None:
    """The same of an end of a line as its own file has it; None for what is no banjo."""
    if line.hose is None:
        return None
    fitted = line.hose.end if last else line.hose.start
    return bolt(setup, bars, line, last, fitted) if fitted.banjo else None
