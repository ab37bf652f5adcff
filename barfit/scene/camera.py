"""Standard views, the distance from which a set of points just fills the picture, and the camera
moved by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from barfit.scene.mesh import unit

# A longish lens: near parts do not swell, as they would in a wide one.
VIEW_ANGLE_DEG = 24.0

# Shares of the picture kept free round what is looked at: left, right, bottom, top.
Margins = tuple[float, float, float, float]
WHOLE_MARGINS: Margins = (0.04, 0.04, 0.05, 0.05)
BARS_MARGINS: Margins = (0.11, 0.11, 0.05, 0.05)
LINE_MARGINS: Margins = (0.16, 0.16, 0.16, 0.16)
_SMALLER = 1.04  # times as far off at most, to stand clear of what is written below
_LIFTS = 4
_STEEPEST = 80.0  # degrees above or below level that the camera goes of its own


@dataclass(frozen=True)
class View:
    """Where the eye stands, as a direction from the machine, and which way is up.

    A close view shows what is round the bars; the others show the whole drawing.
    """

    label: str
    eye: tuple[float, float, float]
    up: tuple[float, float, float] = (0.0, 0.0, 1.0)
    close: bool = False


VIEWS: dict[str, View] = {
    "rider": View("Rider", (-1.0, 0.0, 0.75), close=True),
    "front": View("Front", (1.0, 0.0, 0.10)),
    "left": View("Left", (0.0, 1.0, 0.0)),
    "right": View("Right", (0.0, -1.0, 0.0)),
    "top": View("Top", (0.0, 0.0, 1.0), (1.0, 0.0, 0.0), close=True),
    "three-quarter": View("Three-quarter", (0.80, 1.0, 0.42)),
}


def fitted(
    points: np.ndarray,
    eye: np.ndarray,
    up: np.ndarray,
    aspect: float,
    margins: Margins,
) -> tuple[np.ndarray, np.ndarray]:
    """Camera position and focal point (3,) that show all ``points`` (M, 3) from ``eye``.

    ``margins`` are the shares of the picture to keep free at the left, right, bottom and top.
    """
    back = unit(eye)
    right = unit(np.cross(up, back))
    above = np.cross(back, right)
    local = points @ np.column_stack((right, above, back))
    tan_v = np.tan(np.radians(VIEW_ANGLE_DEG) / 2.0)
    left, right_share, bottom, top = margins
    # tangents of the angles from the line of sight to each usable edge of the picture
    x_low, x_high = (tan_v * aspect * (1.0 - 2.0 * share) for share in (left, right_share))
    y_low, y_high = (tan_v * (1.0 - 2.0 * share) for share in (bottom, top))
    x, y, depth = local.T
    distance = max(_distance(x, depth, x_low, x_high), _distance(y, depth, y_low, y_high))
    at = (
        _middle(x, distance - depth, x_low, x_high) * right
        + _middle(y, distance - depth, y_low, y_high) * above
    )
    return at + distance * back, at + float(np.median(depth)) * back


def _distance(across: np.ndarray, depth: np.ndarray, low: float, high: float) -> float:
    """The least distance of the eye along the depth axis at which both edges hold everything.

    A point is within them when -low <= (across - at) / (distance - depth) <= high for where
    ``at`` the eye stands; the tightest point on either side decides.
    """
    return float((np.max(across + depth * high) - np.min(across - depth * low)) / (low + high))


def _middle(across: np.ndarray, ahead: np.ndarray, low: float, high: float) -> float:
    """Where across the eye stands: midway between the places at which an edge is touched."""
    return float(0.5 * (np.max(across - ahead * high) + np.min(across + ahead * low)))


def look(plotter: Any, position: np.ndarray, focal: np.ndarray, up: np.ndarray) -> None:
    """Put the plotter's camera there."""
    camera = plotter.camera
    camera.parallel_projection = False
    camera.view_angle = VIEW_ANGLE_DEG
    camera.position = tuple(position)
    camera.focal_point = tuple(focal)
    camera.up = tuple(up)
    plotter.renderer.ResetCameraClippingRange()


def look_at(
    plotter: Any, points: np.ndarray, eye: Any, up: Any, margins: Margins, legend: float = 0.0
) -> None:
    """Put the camera where it shows all ``points`` (M, 3) from the direction ``eye``.

    ``legend`` is the share of the picture, from below, in which something may be written: where
    there is room to spare above, what is looked at stands above it.
    """
    width, height = plotter.renderer.GetSize()
    aspect, eye, up = width / height, np.array(eye), np.array(up)
    position, focal = fitted(points, eye, up, aspect, margins)
    left, right, bottom, top = margins
    for share in np.linspace(legend, bottom, _LIFTS, endpoint=False) if legend > bottom else ():
        lifted = fitted(points, eye, up, aspect, (left, right, float(share), top))
        if _far(lifted) <= _SMALLER * _far((position, focal)):
            position, focal = lifted
            break
    look(plotter, position, focal, up)


def _far(camera: tuple[np.ndarray, np.ndarray]) -> float:
    """How far the eye is from what it looks at."""
    return float(np.linalg.norm(camera[0] - camera[1]))


def orbit(plotter: Any, right: float, down: float) -> None:
    """Go round what is looked at as dragging the picture so far (pixels) would turn it."""
    camera = plotter.camera
    camera.Azimuth(-0.3 * right)
    back = unit(np.array(camera.position) - np.array(camera.focal_point))
    high = math.degrees(math.asin(min(max(float(back[2]), -1.0), 1.0)))
    camera.Elevation(min(max(0.3 * down, -_STEEPEST - high), _STEEPEST - high))
    plotter.renderer.ResetCameraClippingRange()


def zoom(plotter: Any, notches: float) -> None:
    """Bring what is looked at nearer, by a tenth for each notch of a wheel."""
    plotter.camera.Dolly(1.1**notches)
    plotter.renderer.ResetCameraClippingRange()


def pixel_at(plotter: Any, point: np.ndarray) -> float:
    """How many mm a pixel of the picture shows at the distance of a point (3,)."""
    camera, height = plotter.camera, plotter.renderer.GetSize()[1]
    far = float((point - np.array(camera.position)) @ np.array(camera.direction))
    return 2.0 * max(far, 1.0) * math.tan(math.radians(0.5 * camera.view_angle)) / max(height, 1)
