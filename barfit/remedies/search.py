"""All that can be done about every line that does not fit, best first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from threading import Lock

from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.analysis.work import Cancel, Progress, Work
from barfit.catalogue import line_kinds
from barfit.model import Line
from barfit.remedies import bars, clips, fittings, lengths, routes, wiring
from barfit.remedies.caps import cap
from barfit.remedies.ranking import ranked
from barfit.remedies.remedy import Means, Remedies, Remedy
from barfit.remedies.trials import Plan, Trials, judged
from barfit.trade import Trade

Source = Callable[[Trials, Line], Iterator[Remedy]]
_SOURCES: tuple[Source, ...] = (
    clips.slid,
    clips.left_out,
    routes.rerouted,
    fittings.turned,
    bars.rolled,
    fittings.moved,
    lengths.shorter,
    lengths.longer,
    bars.through,
    bars.lower,
)
_BESIDE = 2  # lines that are looked at beside each other


def remedies(
    swept: Sweep,
    stock: Sweep,
    findings: Collection[LineFinding],
    trade: Trade,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
    only: str | None = None,
) -> tuple[Remedies, ...]:
    """What can be done about each line of ``swept`` that does not fit, in the lines' order.

    ``stock`` is the same setup swept with its stock bars, ``findings`` and ``trade`` are those of
    ``swept``. Every remedy is solved over the whole turn and travel with the change made. With
    ``only`` the line of that name, and what is replaced with it, is looked at, and no other. Raises
    Cancelled, and KeyError for a name that is not there.
    """
    setup = swept.setup
    asked = setup.lines if only is None else lengths.pair(setup, setup.line(only))
    names = {line.name for line in asked}
    misfits = [one.line for one in findings if not one.fits and one.line in names]
    work = Work(1, progress, cancelled)
    work.stage(1 + (len(_SOURCES) + 1) * len(misfits))
    if not misfits:
        return tuple(Remedies(finding.line) for finding in findings)
    trials = Trials(swept, stock, findings, trade, cancelled)
    work.tick()
    lock = Lock()

    def tick() -> None:
        with lock:  # of two threads that report at once
            work.tick()

    # beside each other: the solver's loops leave a second core free, and no line hangs on another
    with ThreadPoolExecutor(_BESIDE) as beside:
        asked_of = [one for one in findings if one.line in misfits]
        found = list(beside.map(lambda one: _about(trials, one, tick), asked_of))
    about: dict[str, list[Remedy]] = {finding.line: [] for finding in findings}
    about |= dict(zip((one.line for one in asked_of), found, strict=True))
    kinds = line_kinds()
    every = tuple(
        Remedies(
            name,
            ranked(name, about, kinds[setup.line(name).kind].family),
            cap(trials, setup.line(name), about[name]),
        )
        for name in about
    )
    if only is not None:  # what the other lines need is not known
        return every
    lowest = bars.stands(trials, every)
    return tuple(replace(one, lowest=lowest.get(one.line)) for one in every)


def _about(trials: Trials, finding: LineFinding, tick: Callable[[], None]) -> list[Remedy]:
    line = trials.setup.line(finding.line)
    found: list[Remedy] = []
    if finding.verdict in (Verdict.UNCERTAIN, Verdict.RUBS):
        found.append(
            judged(trials, line.name, Plan(Means.LEAVE, trials.setup), finding, trials.swept)
        )
    for source in _SOURCES:
        found += source(trials, line)
        tick()
    found += _joined(trials, line, found)
    tick()
    return found


def _joined(trials: Trials, line: Line, before: list[Remedy]) -> list[Remedy]:
    """What is joined on to a line or into it, where that may be."""
    short = lengths.lack(trials.found[line.name]) > 0.0
    family = line_kinds()[line.kind].family
    if family in ("cable", "hose"):
        why = wiring.NOT_FOR_CABLES if family == "cable" else wiring.NOT_FOR_HOSES
        return list(wiring.never(trials, line, why)) if short else []
    added = list(wiring.extensions(trials, line))
    return added + list(wiring.splices(trials, line, [*before, *added]))
