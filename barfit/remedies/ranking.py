"""Which remedy comes first."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping

from barfit.remedies.remedy import Change, Means, Remedy

_ORDER = {means: rank for rank, means in enumerate(Means)}
# Of a harness a plug-in extension takes less than a longer branch with new terminals, and that less
# than splices in every wire (common practice).
_OF_WIRES = _ORDER | {
    Means.EXTENSION: _ORDER[Means.NEXT_SIZE],
    Means.NEXT_SIZE: _ORDER[Means.EXTENSION],
}


# A guide or clip keeps a cable or hose where its maker wants it, off what is hot, sharp or strikes;
# a line of the right length costs little against that. Of wires a tie is freed before anything is
# bought (common practice).
_LEFT_OUT = 0.5 + max(_ORDER[one] for one in (Means.NEXT_SIZE, Means.MADE_UP))

_BRAKES = ("brake_hose", "front_brake_cable")
_SUITS, _LOWER, _HELPS, _NOT_ENOUGH, _REFUSED = range(5)


def ranked(line: str, found: Mapping[str, Collection[Remedy]], family: str) -> tuple[Remedy, ...]:
    """Remedies of one ``line``, of a kind of that ``family``, best first, out of those
    ``found`` for every line.

    What leaves the line properly laid, before what leaves it lying on a hot or moving part, pressed
    hard, or hanging further than is common practice. Among that what surely cures, what costs least
    first (but a guide of a cable or hose is left out only after
    a line of the right length); then what may cure; then a lower bar, which gives up
    what the bars were chosen for; then what helps and may not suffice, and what surely does not,
    the most margin first; last what cannot be done. A brake line that loses a guide or clip counts
    as one that may be cured.
    Of lines that are replaced together each remedy is as good as for the one it helps least, so
    that the same comes first for all of them.
    """
    order = _ORDER if family in ("cable", "hose") else _OF_WIRES

    def place(one: Remedy) -> tuple[float, ...]:
        margin = -math.inf if math.isnan(one.margin) else one.margin
        cost = float(order[one.means])
        if one.change is Change.DROP and family in ("cable", "hose"):
            cost = _LEFT_OUT
        rank, faults, unsure = max(map(_rank, (one, *_same(one, found))))
        if rank in (_HELPS, _NOT_ENOUGH):
            return rank, -margin, cost
        return rank, faults, unsure, cost, -margin

    return tuple(sorted(found[line], key=place))


def _rank(one: Remedy) -> tuple[int, int, bool]:
    """Which group it belongs to, in how many ways the line is then not properly laid, and whether
    it only may cure."""
    less = one.change is Change.DROP and one.setup.line(one.line).kind in _BRAKES
    if one.why_not:
        return _REFUSED, 0, False
    if one.cures or one.may_cure:
        group = _LOWER if one.means is Means.LOWER_BAR else _SUITS
        return group, one.faults, less or not one.cures
    return _HELPS if one.offered else _NOT_ENOUGH, 0, False


def _same(one: Remedy, found: Mapping[str, Collection[Remedy]]) -> list[Remedy]:
    """The same remedy of the lines that are replaced together with its own."""
    return [other for name in one.together for other in found.get(name, ()) if other.key == one.key]
