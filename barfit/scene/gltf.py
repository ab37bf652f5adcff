"""One pose of a swept setup as a binary glTF 2.0 file (.glb), for any program that shows models.

As glTF has it: metres, y up, z forward, and so x to the left. Nodes are named for what they are.
"""

from __future__ import annotations

import numpy as np
import trimesh
from trimesh.visual import ColorVisuals, TextureVisuals
from trimesh.visual.material import PBRMaterial

from barfit.analysis.sweep import Sweep
from barfit.geometry.pose import body_motion, layout
from barfit.model import Body
from barfit.scene.bars import bar_parts, control_parts
from barfit.scene.colours import SCALES, THEMES, Colour, Finish, Paint, rgb
from barfit.scene.fittings import holder_parts
from barfit.scene.lines import grips, values
from barfit.scene.machine import machine_parts
from barfit.scene.mesh import tube
from barfit.scene.parts import gathered
from barfit.scene.track import LinePose, Track

SIDES = 12
"""Points in a ring round a line."""

# Ours (x forward, y left, z up) to glTF's (x left, y up, z forward): a turn, no mirror.
_AXES = np.array([[0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]])
_METRE = 1000.0

# How metallic and how rough. A full metal is black where a program has nothing for it to mirror.
_METALS = {Paint.CHROME: (0.35, 0.2), Paint.STEEL: (0.3, 0.4), Paint.ALLOY: (0.2, 0.5)}
_PLAIN = (0.0, 0.6)


def scene_glb(sweep: Sweep, turn: float = 0.0, travel: float = 0.0) -> bytes:
    """Machine, bars, controls, clips and lines in one pose, as a .glb.

    ``turn`` rad, left positive; ``travel`` mm, compression positive. A line's node has its name;
    those of other parts say what they are of, what they ride on and what they are made of. Lines
    are coloured by slack as in the window; one that is not known in that pose is left out. Raises
    ValueError for a pose that is not in the sweep.
    """
    setup, barset = sweep.setup, sweep.setup.bars(sweep.stock)
    if not sweep.angles[0] - 1e-9 <= turn <= sweep.angles[-1] + 1e-9:
        raise ValueError("the bar does not turn that far")
    poses = {line.name: Track(line, sweep.angles).at(turn, travel) for line in sweep.lines}
    ahead = {line.name: Track(line, sweep.angles).at(0.0, 0.0) for line in sweep.lines}
    runs = {
        line.name: pose.along(line.arc)
        for line in sweep.lines
        if (pose := ahead[line.name]) is not None
    }
    names = [line.name for line in setup.lines]
    places = layout(setup, barset)
    groups = {
        "machine": machine_parts(setup),
        "bars": [*bar_parts(setup.machine, barset), *control_parts(setup, barset)],
        "clips": holder_parts(setup, barset, places, runs, names),
    }
    motions = {body: body_motion(setup.machine, body, turn, travel) for body in Body}
    out = trimesh.Scene(base_frame=setup.title)
    for group, parts in groups.items():
        for (body, paint), mesh in gathered(parts).items():
            turned, shift = motions[body]
            shell = trimesh.Trimesh(
                _placed(np.asarray(mesh.points, float) @ turned.T + shift),
                mesh.regular_faces,
                vertex_normals=mesh.point_data["Normals"] @ (_AXES @ turned).T,
                visual=TextureVisuals(material=_material(paint)),
                process=False,
            )
            name = f"{group}: {body}, {paint}"
            out.add_geometry(shell, node_name=name, geom_name=name)
    for name, pose in poses.items():
        if pose is not None and pose.known:
            spare = values(pose, Colour.SLACK, sweep.line(name).arc, grips(places[name]), np.nan)
            shades = SCALES[Colour.SLACK].colours(spare, THEMES["light"].unknown)
            shell = _line(pose, 0.5 * setup.line(name).diameter, shades)
            out.add_geometry(shell, node_name=name, geom_name=name)
    return bytes(out.export(file_type="glb", include_normals=True))


def _placed(points: np.ndarray) -> np.ndarray:
    """Points (N, 3) in mm in our axes, as glTF has them."""
    return points @ _AXES.T / _METRE


def _line(pose: LinePose, radius: float, shades: np.ndarray) -> trimesh.Trimesh:
    """A tube about a line: rings of `SIDES` points, one for each of its points and as many shades
    (M, 3), 0..255.
    """
    surface = tube(pose.points, radius, SIDES)
    light = np.full((len(surface.points), 4), 1.0)
    light[:, :3] = np.repeat(_linear(shades / 255.0), SIDES, axis=0)
    shell = trimesh.Trimesh(_placed(surface.points), surface.faces, process=False)
    shell.visual = ColorVisuals(shell, vertex_colors=(255.0 * light).round().astype(np.uint8))
    return shell


def _material(paint: Paint) -> PBRMaterial:
    finish: Finish = THEMES["light"].finishes[paint]
    metal, rough = _METALS.get(paint, _PLAIN)
    return PBRMaterial(
        name=str(paint),
        baseColorFactor=[*_linear(rgb(finish.colour) / 255.0), finish.opacity],
        metallicFactor=metal,
        roughnessFactor=rough,
        alphaMode="BLEND" if finish.opacity < 1.0 else "OPAQUE",
    )


def _linear(shade: np.ndarray) -> np.ndarray:
    """sRGB (IEC 61966-2-1), 0..1, as amounts of light, which is what a glTF factor is."""
    return np.where(shade <= 0.04045, shade / 12.92, ((shade + 0.055) / 1.055) ** 2.4)
