"""What is left to keep a line where it belongs once a guide or clip is left out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barfit.analysis import LineFinding, Sweep
from barfit.geometry.parts import shape_distance
from barfit.model import Role, Solid
from barfit.trade.holding import hangs
from barfit.trade.hose_path import gap

# A line is to keep this far (mm) from what is hot and from what strikes: common practice, for a
# line that nothing sleeves, and for parts that move past each other.
KEEPS = {Role.ENGINE: 25.0, Role.STOP: 10.0}
_TELLING = 1.0  # mm nearer than it was


@dataclass(frozen=True)
class Near:
    """How near, mm, a line comes to a ``part`` of the machine that it should keep ``keeps`` mm
    from: ``gap`` with a hold left out, ``was`` with it; at ``turn`` (rad).
    """

    part: str
    gap: float
    was: float
    keeps: float
    turn: float

    @property
    def bare(self) -> bool:
        """Whether nothing keeps it off any more: too near, and nearer than it was."""
        return self.gap < min(self.keeps, self.was - _TELLING)


@dataclass(frozen=True)
class Freed:
    """A line without one of its holds: ``unheld`` mm of it hang between the stations ``between``.

    ``nears`` are the hot parts and steering stops, the one it comes nearest to first; ``touches``
    the parts of the machine that it touches.
    """

    unheld: float
    between: tuple[str, str]
    nears: tuple[Near, ...]
    touches: tuple[str, ...]
    before: float = np.nan

    @property
    def hangs(self) -> bool:
        """Whether more of it hangs than common practice lets hang."""
        return hangs(self.unheld, self.before)

    @property
    def bare(self) -> Near | None:
        """What it now comes too near to; None where it keeps off all."""
        return next((one for one in self.nears if one.bare), None)


def freed(before: Sweep, finding: LineFinding, there: Sweep, left_out: str) -> Freed | None:
    """What a line without its hold ``left_out`` does, swept ``there``; ``before`` is the sweep with
    it. None where the line has no such hold, or has it inside the bar.
    """
    name = finding.line
    had, now = _holds(before, name), _holds(there, name)
    if left_out not in had[1:-1]:
        return None
    at = had.index(left_out)
    lengths = np.diff(there.line(name).stations_at)[..., at - 1]
    return Freed(
        unheld=_most(lengths),
        before=_most(np.diff(before.line(name).stations_at)),
        between=(now[at - 1], now[at]),
        nears=tuple(sorted(_nears(before, there, name), key=lambda one: one.gap - one.keeps)),
        touches=tuple(touch.part for touch in finding.touches),
    )


def _most(lengths: np.ndarray) -> float:
    return float(np.nanmax(lengths)) if np.isfinite(lengths).any() else np.nan


def _holds(swept: Sweep, line: str) -> tuple[str, ...]:
    """The stations that were solved: those of the line, but for what is inside the bar."""
    return swept.line(line).spans[0].case.layout.names


def _nears(before: Sweep, there: Sweep, name: str) -> list[Near]:
    found = []
    for solid in there.setup.machine.solids:
        if solid.role not in KEEPS:
            continue
        now = _gap(there, name, solid)
        was = _gap(before, name, solid)
        found.append(Near(solid.name, now[0], was[0], KEEPS[solid.role], now[1]))
    return found


def _gap(swept: Sweep, name: str, solid: Solid) -> tuple[float, float]:
    spot = gap(
        swept,
        swept.line(name),
        solid.body,
        lambda points: np.asarray(shape_distance(solid.shape, points)),
        clear=True,
    )
    return spot.value, spot.turn
