"""All that is drawn of solid parts: machine, floor, bars with their controls, and what holds the
lines."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyvista as pv

from barfit.geometry.frames import local_to_machine
from barfit.geometry.pose import body_motion
from barfit.model import Body, Machine, Setup
from barfit.scene.bars import bar_parts, control_parts
from barfit.scene.colours import Theme
from barfit.scene.groups import Group
from barfit.scene.holders import Holders
from barfit.scene.machine import machine_parts
from barfit.scene.stage import Floor


class Hardware:
    """Machine, floor, bars and holders on a plotter; made anew only where they are not as drawn."""

    def __init__(self, plotter: Any, theme: Theme) -> None:
        self._floor = Floor(plotter)
        self._machine = Group(plotter, "machine", theme)
        self._bars = Group(plotter, "bars", theme)
        self.holders = Holders(plotter, theme)
        self._built: dict[str, object] = {}  # what machine and bars were drawn for
        self._upper_machine = np.empty((0, 3))
        self.upper = np.empty((0, 3))  # points of what turns above the lower clamp, straight ahead

    @property
    def groups(self) -> tuple[Group, ...]:
        """Machine, bars and holders."""
        return self._machine, self._bars, self.holders.group

    def build(self, setup: Setup, stock: bool, theme: Theme) -> None:
        """Draw machine and bars, where they are not drawn already. Raises BarError for bars that
        cannot be built, and then has changed nothing.
        """
        barset = setup.bars(stock)
        ends = tuple((line.kind, line.stations[-1].place) for line in setup.lines)
        machine, bars = (setup.machine, ends), (setup.machine, setup.controls, barset)
        parts = None
        if self._built.get("bars") != bars:
            parts = [*bar_parts(setup.machine, barset), *control_parts(setup, barset)]
        if self._built.get("machine") != machine:
            self._machine.replace(machine_parts(setup))
            self._floor.replace(setup.machine, self._machine.meshes(), theme)
            self._upper_machine = _above(setup.machine, self._machine.meshes(Body.STEERING))
        if parts is not None:
            self._bars.replace(parts)
        if self._built != {"machine": machine, "bars": bars}:
            self._built = {"machine": machine, "bars": bars}
            upper_bars = _above(setup.machine, self._bars.meshes())
            self.upper = np.vstack((self._upper_machine, upper_bars))

    def move(self, matrices: dict[Body, np.ndarray]) -> None:
        """Put every body where its matrix (4, 4) says."""
        for group in self.groups:
            group.move(matrices)

    def restyle(self, theme: Theme) -> None:
        """Take on another theme."""
        for group in self.groups:
            group.restyle(theme)
        self._floor.restyle(theme)

    def paint_by_body(self, on: bool) -> None:
        """Colour everything by the body it rides on, or as its paint is."""
        for group in self.groups:
            group.paint_by_body(on)

    def actors(self, body: Body) -> list[Any]:
        """The actors of machine, bars and holders on one body."""
        return [actor for group in self.groups for actor in group.actors(body)]

    def outline(self, machine: Machine) -> np.ndarray:
        """Points (M, 3) that hold the whole drawing, with the bars at both locks."""
        whole = np.vstack([mesh.points[::5] for mesh in self._machine.meshes()])
        return np.vstack((whole, self._bars_lock_to_lock(machine)))

    def round_bars(self, machine: Machine) -> np.ndarray:
        """Points (M, 3) round the bars, at both locks, down to the lower clamp."""
        return np.vstack((self.upper, self._bars_lock_to_lock(machine)))

    def _bars_lock_to_lock(self, machine: Machine) -> np.ndarray:
        bars = np.vstack([mesh.points[::5] for mesh in self._bars.meshes()])
        turns = (-machine.lock_right, 0.0, machine.lock_left)
        return np.vstack([bars @ body_motion(machine, Body.STEERING, t, 0.0)[0].T for t in turns])


def _above(machine: Machine, meshes: list[pv.PolyData]) -> np.ndarray:
    """Some of the points (M, 3) of meshes that are above the lower clamp."""
    low = local_to_machine(machine.rake, 0.0, 0.0, -machine.lower_clamp)[2]
    points = np.vstack([mesh.points[::11] for mesh in meshes])
    return points[points[:, 2] > low]
