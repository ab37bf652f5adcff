"""All that can be done about every line that does not fit, best first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
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
_BESIDE = 2  # sources that are asked beside each other


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

    asked_of = [one for one in findings if one.line in misfits]
    # beside each other: the solver's loops leave a second core free, and no source hangs on another
    with ThreadPoolExecutor(_BESIDE) as beside:
        each = [
            [beside.submit(_from, source, trials, one.line, tick) for source in _SOURCES]
            for one in asked_of
        ]
        found = [[remedy for part in parts for remedy in part.result()] for parts in each]
        joined = beside.map(partial(_joined, trials, tick), asked_of, found)
        about: dict[str, list[Remedy]] = {finding.line: [] for finding in findings}
        for one, before, more in zip(asked_of, found, joined, strict=True):
            about[one.line] = [*_left(trials, one), *before, *more]
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


def _from(source: Source, trials: Trials, line: str, tick: Callable[[], None]) -> list[Remedy]:
    found = list(source(trials, trials.setup.line(line)))
    tick()
    return found


def _left(trials: Trials, finding: LineFinding) -> list[Remedy]:
    """A line left as it is, where that may do."""
    if finding.verdict not in (Verdict.UNCERTAIN, Verdict.RUBS):
        return []
    plan = Plan(Means.LEAVE, trials.setup)
    return [judged(trials, finding.line, plan, finding, trials.swept)]


def _joined(
    trials: Trials, tick: Callable[[], None], finding: LineFinding, before: list[Remedy]
) -> list[Remedy]:
    """What is joined on to a line or into it, where that may be."""
    line = trials.setup.line(finding.line)
    short = lengths.lack(finding) > 0.0
    family = line_kinds()[line.kind].family
    if family in ("cable", "hose"):
        why = wiring.NOT_FOR_CABLES if family == "cable" else wiring.NOT_FOR_HOSES
        found = list(wiring.never(trials, line, why)) if short else []
    else:
        found = list(wiring.extensions(trials, line))
        found += wiring.splices(trials, line, [*before, *found])
    tick()
    return found
