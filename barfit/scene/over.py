"""Actors that the machine does not hide: what is to be taken hold of must be seen."""

from __future__ import annotations

from typing import Any

import numpy as np

from barfit.scene.mesh import Surface, joined, rod, turned, unit

EDGE = 1.3  # pixels
_HEAD, _WIDE, _SHAFT = 16.0, 6.0, 2.1


def on_top(plotter: Any, name: str, mesh: Any, **looks: Any) -> Any:
    """An actor of a mesh, drawn as if nearest of all, in a colour that light hardly changes."""
    actor = plotter.add_mesh(
        mesh,
        name=name,
        reset_camera=False,
        render=False,
        pickable=False,
        show_scalar_bar=False,
        **looks,
    )
    actor.prop.ambient, actor.prop.diffuse = 0.5, 0.6
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -66000.0)
    return actor


class Arrow:
    """Arrows as one mesh, with an edge that keeps them off dark and light parts alike."""

    def __init__(self, plotter: Any, name: str, mesh: Any, edge: Any) -> None:
        """``edge`` is a little thicker than ``mesh``: its far side alone is drawn."""
        self.edge = on_top(plotter, f"{name}: edge", edge, culling="front", lighting=False)
        self.actor = on_top(plotter, name, mesh)

    def show(self, shown: bool) -> None:
        """Show or hide."""
        self.actor.SetVisibility(shown)
        self.edge.SetVisibility(shown)

    def put(self, where: Any, colour: str, edge: str) -> None:
        """Put it where a matrix (4, 4) says, in these colours."""
        self.actor.user_matrix = self.edge.user_matrix = where
        self.actor.prop.color, self.edge.prop.color = colour, edge


def arrow(start: np.ndarray, tip: np.ndarray, bold: float = 1.0, edge: float = 0.0) -> Surface:
    """A straight arrow between two points (3,), at a pixel to a millimetre; ``bold`` times as thick
    as usual, and ``edge`` thicker all round.
    """
    way = unit(tip - start)
    neck = tip - 0.9 * _HEAD * way
    shaft = rod(start - edge * way, neck, bold * _SHAFT + edge, sides=10)
    head = [(-_HEAD - edge, bold * _WIDE + 1.5 * edge), (1.5 * edge, 0.3)]
    return joined([shaft, turned(tip, way, head, sides=18)])
