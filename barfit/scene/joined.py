"""Placed forms drawn as one mesh: one thing for the renderer, changed in place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pyvista as pv

from barfit.scene.forms import Place
from barfit.scene.mesh import Skin, Surface, reshape

Placed = tuple[Surface, Place]


class Joined:
    """One mesh for its whole life. What is shown again, the same surface at the same place, is
    not worked out again; while all surfaces are the same, only points and normals are replaced.
    """

    def __init__(self) -> None:
        self.mesh = pv.PolyData()
        self.normals = np.empty((0, 3))
        self._shown: Sequence[Placed] = ()
        self._arrays: list[tuple[np.ndarray, np.ndarray]] = []

    def show(self, placed: Sequence[Placed]) -> bool:
        """Show these; whether anything is not as it was."""
        before = dict(zip(map(_key, self._shown), self._arrays, strict=True))
        arrays = [before.get(_key(one)) or _put(*one) for one in placed]
        same = len(placed) == len(self._shown) and all(
            a[0] is b[0] for a, b in zip(placed, self._shown, strict=True)
        )
        if same and all(a is b for a, b in zip(arrays, self._arrays, strict=True)):
            return False
        if not same:
            self._join([surface.skin for surface, _ in placed])
        self._shown, self._arrays = tuple(placed), arrays
        self.normals = np.concatenate([normals for _, normals in arrays])
        reshape(self.mesh, np.concatenate([points for points, _ in arrays]), self.normals)
        return True

    def _join(self, skins: list[Skin]) -> None:
        first = np.cumsum([0] + [len(skin.points) for skin in skins[:-1]])
        faces = np.concatenate([s.faces + k for s, k in zip(skins, first, strict=True)])
        self.mesh.clear_data()  # of another number of points
        self.mesh.points = np.concatenate([skin.points for skin in skins])
        self.mesh.regular_faces = faces


def _key(placed: Placed) -> tuple[int, int]:
    """What tells a surface at a place from others, for as long as both are held."""
    return id(placed[0]), id(placed[1])


def _put(surface: Surface, place: Place) -> tuple[np.ndarray, np.ndarray]:
    """Points and normals (N, 3), float32, of a surface at a place."""
    skin = surface.skin
    points, normals = place.points(skin.points), skin.normals @ place.turn.T
    return points.astype(np.float32), normals.astype(np.float32)
