"""Mesh files: read, and checked to be the closed surface that a distance needs."""

from __future__ import annotations

import io
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import trimesh

from barfit.model import FileUnit, Mesh, Setup, Triangles
from barfit.scenario.problems import Problem, did_you_mean
from barfit.units import MM_PER_INCH

LARGEST = 50_000_000  # bytes
MOST_TRIANGLES = 50_000
SMALLEST, GREATEST = 5.0, 3000.0  # mm, the longest side

_KINDS = (".stl", ".obj", ".ply")
_IN_MM = {
    FileUnit.MILLIMETRE: 1.0,
    FileUnit.CENTIMETRE: 10.0,
    FileUnit.METRE: 1000.0,
    FileUnit.INCH: MM_PER_INCH,
}
_ALIKE = 1e-5  # mm; corners nearer than this are one (STL repeats every corner)


Surfaces = Mapping[tuple[Path, FileUnit], Triangles]
"""What is known already of mesh files, by their absolute names and the unit read in."""


def absolute(folder: Path, file: str) -> Path:
    """The place of a mesh file whose name counts from ``folder``."""
    return Path(os.path.abspath(folder / file))  # unlike resolve(), never fails and follows no link


def known_surfaces(setup: Setup) -> Surfaces:
    """The mesh files a setup was made from, as it holds them.

    Saving then needs them no more: one may have been moved or changed since.
    """
    folder = Path(setup.folder)
    meshes = [s.shape for s in setup.machine.solids if isinstance(s.shape, Mesh)]
    return {(absolute(folder, mesh.file), mesh.unit): mesh.surface for mesh in meshes}


def read_triangles(path: Path, unit: FileUnit) -> tuple[Triangles | None, tuple[Problem, ...]]:
    """The surface in a mesh file, in mm; or None and what is wrong with it, places left blank.

    A surface that is inside out as a whole is turned right; nothing else is mended.
    """
    if path.suffix.lower() not in _KINDS:
        told = f"'{path.name}' is not a kind of mesh read here"
        return None, (Problem("", told, "use an STL, OBJ or PLY file"),)
    try:
        size = path.stat().st_size
        if not path.is_file():
            told = f"'{path}' is {'a folder' if path.is_dir() else 'not a file'}"
            return None, (Problem("", told, "name an STL, OBJ or PLY file"),)
        if size > LARGEST:
            told = f"'{path}' is {size / 1e6:.0f} MB; at most 50 MB are read"
            return None, (Problem("", told),)
        return _read(path, unit)
    except FileNotFoundError:
        near = [p.name for p in path.parent.glob("*") if p.suffix.lower() in _KINDS]
        hint = did_you_mean(path.name, near) or "a name counts from the scenario file's folder"
        return None, (Problem("", f"'{path}' does not exist", hint),)
    except (OSError, ValueError) as error:  # ValueError: a name with a null character
        told = f"'{path}' cannot be read: {getattr(error, 'strerror', None) or error}"
        return None, (Problem("", told),)


def _read(path: Path, unit: FileUnit) -> tuple[Triangles | None, tuple[Problem, ...]]:
    """As `read_triangles`, of a file that is there and has the right kind of name."""
    content = io.BytesIO(path.read_bytes())
    kind = path.suffix.lower().removeprefix(".")
    try:
        mesh: Any = trimesh.load(
            content, file_type=kind, process=False, force="mesh", skip_materials=True
        )
        points = np.asarray(mesh.vertices, dtype=float) * _IN_MM[unit]
        faces = np.asarray(mesh.faces, dtype=np.int64)
    except Exception as error:  # its readers raise whatever a broken file makes them stumble on
        told = f"'{path.name}' is not a {kind.upper()} file that can be read"
        return None, (Problem("", f"{told}: {_first_line(error)}"),)
    if len(faces) == 0:
        told = f"'{path.name}' holds no triangles"
        return None, (Problem("", told, f"it should be a {kind.upper()} file of a surface"),)
    if len(faces) > MOST_TRIANGLES:
        told = f"'{path.name}' has {len(faces)} triangles; at most {MOST_TRIANGLES} are read"
        hint = "have it reduced: lines do not feel anything finer than some millimetres"
        return None, (Problem("", told, hint),)
    if not np.isfinite(points).all():
        told = f"'{path.name}' has corners whose places are not numbers"
        return None, (Problem("", told),)
    points, faces = _welded(points, faces)
    problems = tuple(
        Problem("", f"'{path.name}' {told}", hint) for told, hint in _flaws(points, faces, unit)
    )
    if problems:
        return None, problems
    if _volume(points, faces) < 0.0:
        faces = faces[:, ::-1]
    return Triangles(points.tobytes(), np.ascontiguousarray(faces, np.int32).tobytes()), ()


def _welded(points: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners in one place made one; without the triangles that this leaves no area."""
    _, first, which = np.unique(
        np.round(points / _ALIKE), axis=0, return_index=True, return_inverse=True
    )
    faces = which.reshape(-1)[faces]
    real = (
        (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
    )
    return points[first], faces[real]


def _flaws(points: np.ndarray, faces: np.ndarray, unit: FileUnit) -> list[tuple[str, str]]:
    """What keeps these triangles from being a closed surface of sane size, and what would help."""
    used = points[faces.ravel()] if len(faces) else points
    longest = float(np.ptp(used, axis=0).max())
    found = []
    if not SMALLEST <= longest <= GREATEST:
        told = f"is {longest:.3g} mm long when its numbers are {unit}"
        found.append((told, f"{SMALLEST:g} to {GREATEST:g} mm make sense: is the unit right?"))
    # each edge of a closed surface is walked once each way by the two triangles it parts
    walked = np.vstack((faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]))
    edges, which, shared = np.unique(
        np.sort(walked, axis=1), axis=0, return_inverse=True, return_counts=True
    )
    if len(open_edges := edges[shared == 1]):
        hint = "close the surface: without an inside there is no distance to it"
        told = f"is not closed: {_counted(len(open_edges), 'edge')} without a neighbour, one"
        found.append((f"{told} near {_where(points, open_edges[0])}", hint))
    if len(crowded := edges[shared > 2]):
        told = f"has {_counted(len(crowded), 'edge')} where more than two triangles meet, one"
        found.append((f"{told} near {_where(points, crowded[0])}", "separate them"))
    onward = np.bincount(which.reshape(-1), walked[:, 0] < walked[:, 1], minlength=len(edges))
    if len(turned := edges[(shared == 2) & (onward != 1)]):
        told = "has triangles that face the other way than their neighbours, one"
        found.append((f"{told} near {_where(points, turned[0])}", "make them face outward alike"))
    return found or _inside_out(points, faces)


def _inside_out(points: np.ndarray, faces: np.ndarray) -> list[tuple[str, str]]:
    """A piece that faces the other way than the whole: its inside would count as outside."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    links = coo_array(
        (np.ones(2 * len(faces)), (faces[:, [0, 1]].ravel("F"), faces[:, [1, 2]].ravel("F"))),
        shape=(len(points), len(points)),
    )
    count, piece = connected_components(links, directed=False)
    parts = [faces[piece[faces[:, 0]] == k] for k in np.unique(piece[faces[:, 0]])]
    if count == 1 or len(parts) == 1:
        return []
    volumes = np.array([_volume(points, part) for part in parts])
    wrong = np.flatnonzero(volumes * volumes.sum() <= 0.0)
    if not len(wrong):
        return []
    near = _where(points, parts[wrong[0]][0])
    told = f"has {len(parts)} separate pieces, of which one near {near} is hollow or inside out"
    return [(told, "delete it where it is a cavity; else turn its faces outward")]


def _volume(points: np.ndarray, faces: np.ndarray) -> float:
    """The volume inside, mm³; negative when the triangles face inward (divergence theorem)."""
    a, b, c = (points[faces[:, k]] - points[faces[0, 0]] for k in range(3))
    return float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _where(points: np.ndarray, corners: np.ndarray) -> str:
    """A place in the file's own axes, mm."""
    return "[" + ", ".join(f"{mm:.0f}" for mm in points[corners].mean(axis=0)) + "] mm"


def _first_line(error: Exception) -> str:
    lines = str(error).splitlines()
    return lines[0][:80] if lines and lines[0] else type(error).__name__
