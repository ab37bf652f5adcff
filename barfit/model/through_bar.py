"""Wires led inside the handlebar."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Connector:
    """A plug on a line's far end: ``width`` and ``height`` across, ``length`` (None: not known)."""

    name: str
    width: float
    height: float
    length: float | None = None


@dataclass(frozen=True)
class ThroughBar:
    """A line's way inside bars that have both holes: in at ``entry``, out at ``exit``.

    With bars that lack them the line keeps its outside route. ``lead_in`` is the length from the
    control to the entry hole as laid; None lays it along a smooth curve. ``connectors``
    must pass the holes and the bore or come off.
    """

    entry: str
    exit: str
    lead_in: float | None = None
    connectors: tuple[Connector, ...] = ()
