"""Actors that the machine does not hide: what is to be taken hold of must be seen."""

from __future__ import annotations

from typing import Any


def on_top(plotter: Any, name: str, mesh: Any) -> Any:
    """An actor of a mesh, drawn as if nearest of all, in a colour that light hardly changes."""
    actor = plotter.add_mesh(
        mesh,
        name=name,
        reset_camera=False,
        render=False,
        pickable=False,
        show_scalar_bar=False,
    )
    actor.prop.ambient, actor.prop.diffuse = 0.5, 0.6
    actor.mapper.SetResolveCoincidentTopologyToPolygonOffset()
    actor.mapper.SetRelativeCoincidentTopologyPolygonOffsetParameters(0.0, -66000.0)
    return actor
