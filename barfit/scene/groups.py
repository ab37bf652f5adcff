"""Actors of solid parts: one for each body and paint, moved by matrix and never re-meshed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pyvista as pv

from barfit.model import Body
from barfit.scene.colours import BODY_COLOURS, Finish, Paint, Theme, rgb
from barfit.scene.joined import Joined
from barfit.scene.parts import Part, sorted_parts

Motions = dict[Body, tuple[np.ndarray, np.ndarray]]
"""How each body has turned (3, 3) and shifted (3,)."""


class Group:
    """Some parts on a plotter: a machine, its bars, or a ghost of other bars."""

    def __init__(self, plotter: Any, name: str, theme: Theme, opacity: float | None = None) -> None:
        self._plotter = plotter
        self._name = name
        self._theme = theme
        self._opacity = opacity
        self._by_body = False
        self._actors: dict[tuple[Body, Paint], Any] = {}
        self._joined: dict[tuple[Body, Paint], Joined] = {}

    def replace(self, parts: Iterable[Part]) -> None:
        """Show these parts instead of the ones before."""
        lots = sorted_parts(parts)
        for key in set(self._actors) - set(lots):
            self._plotter.remove_actor(self._actors.pop(key), render=False)
            del self._joined[key]
        for key, placed in lots.items():
            body, paint = key
            bright = paint is Paint.CHROME and self._opacity is None
            whole = self._joined.setdefault(key, Joined())
            if whole.show(placed) and bright:
                whole.mesh["reflection"] = reflected(whole.normals)
            if key in self._actors:
                continue
            actor = self._plotter.add_mesh(
                whole.mesh,
                scalars="reflection" if bright else None,
                rgb=bright,
                name=f"{self._name}: {body}, {paint}",
                reset_camera=False,
                render=False,
                pickable=False,
                show_scalar_bar=False,
            )
            self._actors[key] = actor
            self._style(actor, body, paint)

    def move(self, matrices: dict[Body, np.ndarray]) -> None:
        """Put every body where its matrix (4, 4) says."""
        for (body, _), actor in self._actors.items():
            actor.user_matrix = matrices[body]

    def restyle(self, theme: Theme) -> None:
        """Take on another theme."""
        self._theme = theme
        self._restyle()

    def paint_by_body(self, on: bool) -> None:
        """Colour everything by the body it rides on, or as its paint is."""
        self._by_body = on
        self._restyle()

    def _restyle(self) -> None:
        for (body, paint), actor in self._actors.items():
            self._style(actor, body, paint)

    def meshes(self, body: Body | None = None) -> list[pv.PolyData]:
        """The meshes shown, straight ahead at ride height; of one body or of all."""
        return [
            actor.mapper.dataset for (on, _), actor in self._actors.items() if body in (None, on)
        ]

    def actors(self, body: Body | None = None) -> list[Any]:
        """The actors shown, of one body or of all."""
        return [actor for (on, _), actor in self._actors.items() if body in (None, on)]

    def _style(self, actor: Any, body: Body, paint: Paint) -> None:
        finish: Finish = self._theme.finishes[paint]
        look = actor.prop
        look.color = finish.colour if self._opacity is None else self._theme.ghost
        look.specular, look.specular_power = finish.specular, finish.power
        look.ambient, look.diffuse = finish.ambient, finish.diffuse
        look.opacity = finish.opacity if self._opacity is None else self._opacity
        look.interpolation = "Phong"
        if self._opacity is None:
            # bright metal is painted with what it mirrors, which would hide any other colour
            actor.mapper.scalar_visibility = paint is Paint.CHROME and not self._by_body
            if self._by_body:
                look.color = body_shade(body, finish.colour)
                look.ambient, look.diffuse = 0.12, 0.86


_BODY_SHARE = 0.82  # of a body's colour, the rest is the paint's own

# What chrome mirrors, from straight below to straight above: floor, a dark horizon, bright sky.
_MIRRORED = (
    (-1.0, 0.42),
    (-0.35, 0.62),
    (-0.10, 0.40),
    (0.02, 0.34),
    (0.16, 0.86),
    (0.55, 0.94),
    (1.0, 1.0),
)


def body_shade(body: Body, paint: str) -> np.ndarray:
    """The colour of a body (3,), 0..1, a little lighter or darker as the paint is: parts on one
    body are still told apart by their edges.
    """
    return (_BODY_SHARE * rgb(BODY_COLOURS[body]) + (1.0 - _BODY_SHARE) * rgb(paint)) / 255.0


def reflected(normals: np.ndarray) -> np.ndarray:
    """Colours (N, 3), 0..255, that make bright metal of a surface with these normals (N, 3).

    A mirror has no colour of its own; without surroundings to mirror it looks like grey plastic.
    This paints plain surroundings on: they are brighter above, and to either side, than below.
    """
    height = 0.85 * normals[:, 2] + 0.42 * np.abs(normals[:, 1]) - 0.25 * normals[:, 0]
    at, shade = np.array(_MIRRORED).T
    grey = np.interp(height, at, shade)[:, None]
    return (255.0 * grey * np.array([0.975, 0.99, 1.0])).astype(np.uint8)


def matrix(turned: np.ndarray, shift: np.ndarray) -> np.ndarray:
    """The (4, 4) matrix that turns by (3, 3) and then shifts by (3,)."""
    out = np.eye(4)
    out[:3, :3] = turned
    out[:3, 3] = shift
    return out
