"""Closed surfaces of triangles: their signed distance, sampled once on a regular grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from barfit.geometry.frames import Array
from barfit.geometry.grid import grid_distances

Faces = npt.NDArray[np.int32]

PADDING = 40.0  # mm of room round the surface in which the distance is exact at the samples
_FINEST = 4.0  # mm between samples
_MOST_SAMPLES = 60**3


@dataclass(frozen=True, eq=False)
class DistanceGrid:
    """Signed distances at regular points, mm, negative inside; see `grid.grid_distance`.

    ``origin`` (3,) is the place of ``values[0, 0, 0]``; both arrays are read-only. Beside flat
    faces the distance in between is exact. Sharp edges and corners come out rounded: there it is
    wrong by up to 0.16 of the spacing on the surface, 0.09 one spacing out and 0.03 three spacings
    out, as ``tests/unit/test_geometry_meshes.py`` finds for a box. What is thinner than two
    spacings is not all there.
    """

    origin: Array
    spacing: float
    values: Array

    def distance_with_gradient(self, points: Array) -> tuple[Array, Array]:
        """Signed distance (M,) of points (M, 3) and its gradient (M, 3)."""
        points = np.ascontiguousarray(points, dtype=float)
        if points.ndim != 2 or points.shape[1] != 3:
            raise ValueError(f"points must have the shape (M, 3), not {points.shape}")
        gradients = np.empty_like(points)
        return (
            grid_distances(points, self.origin, self.spacing, self.values, gradients),
            gradients,
        )

    def moved(self, shift: Array) -> DistanceGrid:
        """The same distances of the surface moved by ``shift`` (3,)."""
        origin = self.origin + shift
        origin.flags.writeable = False
        return DistanceGrid(origin, self.spacing, self.values)


def sample_distance(points: Array, faces: Faces) -> DistanceGrid:
    """The signed distance round a closed surface, exact at every sample.

    ``points`` (N, 3) mm and ``faces`` (F, 3), anticlockwise seen from outside. The samples are
    4 mm apart, or as far as 216 000 of them allow. The sign at an edge or a corner comes from
    the angle-weighted normal there (Bærentzen and Aanæs, IEEE Trans. Visualization and Computer
    Graphics 11 (2005) 243). Takes some seconds for ten thousand triangles.
    """
    low, high = points.min(axis=0) - PADDING, points.max(axis=0) + PADDING
    spacing = max(_FINEST, float(np.cbrt(np.prod(high - low) / _MOST_SAMPLES)))
    counts = np.ceil((high - low) / spacing).astype(int) + 3  # one more outside each end
    # the middle of the grid is the middle of the surface, so that a symmetrical one stays so
    origin = 0.5 * (low + high) - 0.5 * spacing * (counts - 1)
    axes = [start + spacing * np.arange(n) for start, n in zip(origin, counts, strict=True)]
    samples = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    values = exact_distance(points, faces, samples).reshape(counts)
    for array in (origin, values):
        array.flags.writeable = False
    return DistanceGrid(origin, spacing, values)


def exact_distance(points: Array, faces: Faces, where: Array) -> Array:
    """Signed distance (M,) of the places ``where`` (M, 3) from a closed surface of triangles."""
    # VTK starts slowly and few machines have an imported part
    from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
    from vtkmodules.vtkCommonCore import vtkDoubleArray, vtkPoints
    from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
    from vtkmodules.vtkFiltersCore import vtkImplicitPolyDataDistance

    corners, cells, surface = vtkPoints(), vtkCellArray(), vtkPolyData()
    corners.SetData(numpy_to_vtk(np.ascontiguousarray(points, dtype=float), deep=True))
    flat = np.ascontiguousarray(faces, dtype=np.int64).ravel()
    cells.SetData(3, numpy_to_vtkIdTypeArray(flat, deep=True))
    surface.SetPoints(corners)
    surface.SetPolys(cells)
    field, found = vtkImplicitPolyDataDistance(), vtkDoubleArray()
    field.SetInput(surface)
    field.FunctionValue(numpy_to_vtk(np.ascontiguousarray(where, dtype=float), deep=True), found)
    return np.array(vtk_to_numpy(found), dtype=float)
