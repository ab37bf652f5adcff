"""Why no length of a line is surely long enough."""

from __future__ import annotations

import math
from collections.abc import Sequence

from barfit.analysis import Verdict
from barfit.model import Line
from barfit.remedies.lengths import lack, most, pair
from barfit.remedies.remedy import Cap, Means, Remedy
from barfit.remedies.trials import Trials

_LENGTHS = (Means.NEXT_SIZE, Means.MADE_UP, Means.EXTENSION, Means.SPLICE)


def cap(trials: Trials, line: Line, found: Sequence[Remedy]) -> Cap | None:
    """What keeps a line from being made so long that it surely reaches; ``found`` are all its
    remedies. None where one of its lengths is sure, and where none is offered or nothing limits it.
    """
    lengths = [one for one in found if one.means in _LENGTHS and one.offered]
    if not lengths or any(one.cures for one in lengths):
        return None
    together = {one.name: trials.found[one.name] for one in pair(trials.setup, line)}
    limits = min(together, key=lambda name: most(together[name]))
    window, own = together[limits].window, trials.found[line.name]
    grows = most(together[limits])
    if window is None or not math.isfinite(grows):
        return None
    best = max(lengths, key=lambda one: one.margin)
    if best.verdict is not Verdict.UNCERTAIN:  # it is not its length that is in doubt
        return None
    return Cap(
        line=limits,
        window=window,
        room=grows - lack(own),
        longest=line.length + grows,
        known_to=2.0 * best.sigma,
        things=own.sure.things,
        turn=own.worst_turn,
    )
