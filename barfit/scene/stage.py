"""What the machine stands in: background, lights, and a floor with a soft shadow."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pyvista as pv
from scipy.ndimage import gaussian_filter

from barfit.geometry.frames import local_to_machine
from barfit.model import Machine
from barfit.scene.colours import Theme, rgb

# Where the lights stand beside the camera (right, up, back), how strong, and their tint: a broad
# key from the upper left, a weaker fill from the right, a little from the eye, and a rim above.
_LIGHTS = (
    ((-0.9, 0.8, 1.0), 0.68, "#fffaf2"),
    ((1.3, 0.1, 0.7), 0.46, "#f2f6ff"),
    ((-0.2, 0.0, 1.0), 0.22, "#ffffff"),
    ((0.2, 1.6, -0.2), 0.34, "#ffffff"),
)

_GRID_STEP = 250.0
_GRID_REACH = 1500.0
_GRID_DEPTH = 20.0  # mm
_SHADOW_CELL = 25.0


class Floor:
    """The floor under a machine on a plotter."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self._meshes: list[pv.PolyData] = []
        self._centre, self._height = (0.0, 0.0), 0.0

    def replace(self, machine: Machine, meshes: list[pv.PolyData], theme: Theme) -> None:
        """Lay a floor where the machine's front tyre touches it."""
        axle = local_to_machine(machine.rake, machine.fork_offset, 0.0, -machine.fork_length)
        self._meshes = meshes
        self._centre, self._height = (0.4 * axle[0], 0.0), axle[2] - machine.wheel_radius - 2.0
        self.restyle(theme)

    def restyle(self, theme: Theme) -> None:
        """Draw the floor in another theme."""
        if not self._meshes:
            return
        for name, mesh in (
            # lower by more than VTK brings lines forward: they would be drawn over the tyre
            ("floor grid", floor_grid(self._centre, self._height - _GRID_DEPTH, theme)),
            ("floor shadow", floor_shadow(self._meshes, self._height, theme)),
        ):
            self._plotter.add_mesh(
                mesh,
                name=name,
                scalars="colour",
                rgb=True,
                lighting=False,
                show_scalar_bar=False,
                reset_camera=False,
                render=False,
                pickable=False,
            )


def light(plotter: Any) -> None:
    """Replace the plotter's lights by ones that stand with the camera.

    What one can see through is blended in the order in which it was added, floor first: sorting
    it by depth would cost a fifth of the frame without a graphics card, to little effect here.
    """
    plotter.renderer.SetUseOIT(False)
    plotter.remove_all_lights()
    for place, strength, tint in _LIGHTS:
        plotter.add_light(
            pv.Light(position=place, light_type="camera light", intensity=strength, color=tint)
        )


def floor_grid(centre: tuple[float, float], height: float, theme: Theme) -> pv.PolyData:
    """Lines on the floor every 250 mm that fade with distance; per-point colour with opacity."""
    ticks = np.arange(-_GRID_REACH, _GRID_REACH + 1.0, _GRID_STEP)
    steps = np.linspace(-_GRID_REACH, _GRID_REACH, 49)
    runs = []
    for tick in ticks:
        still = np.full_like(steps, tick)
        runs += [np.column_stack((steps, still)), np.column_stack((still, steps))]
    flat = np.vstack(runs)
    points = np.column_stack((flat + np.array(centre), np.full(len(flat), height)))
    count = len(steps)
    cells = np.arange(len(flat)).reshape(-1, count)
    lines = np.hstack((np.full((len(cells), 1), count), cells)).ravel()
    grid = pv.PolyData(points.astype(np.float32), lines=lines)
    fade = np.clip(1.0 - np.hypot(*flat.T) / _GRID_REACH, 0.0, 1.0) ** 1.5
    grid["colour"] = _with_opacity(theme.ground, 0.9 * fade)
    return grid


def floor_shadow(meshes: Iterable[pv.PolyData], height: float, theme: Theme) -> pv.PolyData:
    """A soft stain under ``meshes``, darker under what is near the floor and what is dense."""
    centres, areas = [], []
    for mesh in meshes:
        a, b, c = (mesh.points[mesh.faces.reshape(-1, 4)[:, k]] for k in (1, 2, 3))
        centres.append((a + b + c) / 3.0)
        areas.append(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))
    points, area = np.vstack(centres), np.concatenate(areas)
    weight = area * np.exp(-(points[:, 2] - height) / 260.0)
    low = points[:, :2].min(axis=0) - 350.0
    high = points[:, :2].max(axis=0) + 350.0
    counts = np.ceil((high - low) / _SHADOW_CELL).astype(int)
    edges = [low[k] + _SHADOW_CELL * np.arange(counts[k] + 1) for k in (0, 1)]
    density, _, _ = np.histogram2d(points[:, 0], points[:, 1], bins=edges, weights=weight)
    density = gaussian_filter(density / _SHADOW_CELL**2, 3.0, mode="constant")
    dark = 0.75 * (1.0 - np.exp(-0.9 * density))
    x, y = (e[:-1] + 0.5 * _SHADOW_CELL for e in edges)
    plane = pv.StructuredGrid(*np.meshgrid(x, y, [height - 0.5], indexing="ij"))
    plane["colour"] = _with_opacity(theme.shadow, dark.ravel(order="F"))
    return plane.extract_surface(algorithm="dataset_surface")


def _with_opacity(colour: str, opacity: np.ndarray) -> np.ndarray:
    """Red, green, blue and opacity (N, 4) as bytes."""
    out = np.empty((len(opacity), 4), dtype=np.uint8)
    out[:, :3] = rgb(colour)
    out[:, 3] = np.clip(255.0 * opacity, 0.0, 255.0)
    return out
