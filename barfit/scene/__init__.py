"""A machine, its bars and its lines drawn on any pyvista plotter. No Qt."""

from __future__ import annotations

from barfit.scene.camera import VIEWS
from barfit.scene.colours import Colour
from barfit.scene.picture import PictureError, picture
from barfit.scene.scene import Scene

__all__ = ["VIEWS", "Colour", "PictureError", "Scene", "picture"]
