"""Harnesses and leads: a plug-in extension, or pieces spliced in.

No joint and no plug lies where the line flexes as the steering turns, or inside the bar. What
carries a sensor's signal is plugged or replaced whole; a splice in it is the last resort.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from barfit.catalogue import line_wires, wire_table
from barfit.model import Line
from barfit.remedies.judging import Plan, judged, refused
from barfit.remedies.lengths import aim, bounds, exact, first_certain, grown_setup, lack, no_length
from barfit.remedies.remedy import Means, Remedy
from barfit.remedies.trials import Trials
from barfit.trade.wires import WireFigures, calm_at, plan_joints

PLUG_HALF = 25.0  # mm: half of a pair of plugs that is put together; estimate
NOT_FOR_CABLES = "a control cable is never lengthened"
NOT_FOR_HOSES = "a hose is never joined: the whole assembly is replaced"


def figures_of(trials: Trials, line: Line) -> WireFigures | None:
    """The figures of a harness or lead; None for any other line."""
    return next((one for one in trials.figures.wires if one.line == line.name), None)


def extensions(trials: Trials, line: Line) -> Iterator[Remedy]:
    """The shortest plug-in extension sold that surely suits."""
    if lack(trials.found[line.name]) <= 0.0:
        return
    inside = line_wires(line)
    why = no_length(trials, line)
    if not why and not (inside and inside.connectors):
        why = "no plug of it is known"
    least, greatest = bounds(trials, line)
    sizes = [size for size in wire_table().plug_in if least <= size <= greatest]
    if not why and not sizes:
        why = "no extension sold is long enough and not too long"
    if why:
        yield refused(line.name, Means.EXTENSION, trials.setup, why)
        return
    # where the plug comes to lie is the same for every size: refused for one, refused for all
    first = _extended(trials, line, sizes[0])
    others = () if first.why_not or first.cures else sizes[1:3]
    found = first_certain([first, *(_extended(trials, line, size) for size in others)])
    assert found is not None
    yield found


def splices(trials: Trials, line: Line, before: Sequence[Remedy]) -> Iterator[Remedy]:
    """Pieces spliced into every wire; ``before`` are the remedies found so far."""
    figures = figures_of(trials, line)
    if lack(trials.found[line.name]) <= 0.0:
        return
    why = no_length(trials, line)
    sensor = figures is not None and figures.sensor
    if not why and sensor and any(_whole(one) for one in before):
        why = "a sensor's lead is plugged or replaced whole, not spliced"
    if why:
        yield refused(line.name, Means.SPLICE, trials.setup, why)
        return
    least, greatest = bounds(trials, line)
    by = exact(line.length, least, greatest, least + aim(trials, line))
    setup = grown_setup(trials, line, by)
    found = trials.finding(setup, line.name)
    plan = plan_joints(found[1], setup.line(line.name), by) if found else None
    if found is None or plan is None:
        why = "its wires are not known" if found else "it cannot be laid out so"
        yield refused(line.name, Means.SPLICE, trials.setup, why)
        return
    remedy = judged(trials, line.name, Plan(Means.SPLICE, setup), *found)
    if not plan.splices:
        remedy = replace(remedy, why_not=str(plan.why))
    yield replace(remedy, splice=plan)


def _whole(one: Remedy) -> bool:
    """Whether it gives a lead the length it needs without a cut."""
    return one.means in (Means.EXTENSION, Means.MADE_UP) and (one.cures or one.may_cure)


def never(trials: Trials, line: Line, why: str) -> Iterator[Remedy]:
    """An extension and a splice, refused for one reason."""
    for means in (Means.EXTENSION, Means.SPLICE):
        yield refused(line.name, means, trials.setup, why)


def _extended(trials: Trials, line: Line, size: float) -> Remedy:
    """The line with an extension of that ``size``, mm, plugged in at its far end."""
    setup = grown_setup(trials, line, size)
    found = trials.finding(setup, line.name)
    if found is None:
        return refused(line.name, Means.EXTENSION, setup, "it cannot be laid out so")
    remedy = judged(trials, line.name, Plan(Means.EXTENSION, setup), *found)
    stub = line.stations[-1].stub
    calm = calm_at(found[1], setup.line(line.name), line.length - stub, PLUG_HALF)
    if remedy.why_not or calm:
        return remedy
    why = (
        "how it flexes at the added plug is not known"
        if calm is None
        else "the added plug would lie where it flexes or inside the bar"
    )
    return replace(remedy, why_not=why)
