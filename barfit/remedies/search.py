"""All that can be done about every line that does not fit, best first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from threading import Lock

from barfit.analysis import LineFinding, Sweep, Verdict
from barfit.analysis.work import Cancel, Progress, Work
from barfit.catalogue import line_kinds
from barfit.model import Line
from barfit.remedies import bars, clips, fittings, lengths, routes, wiring
from barfit.remedies.caps import cap
from barfit.remedies.judging import Plan, judged
from barfit.remedies.ranking import ranked
from barfit.remedies.remedy import Means, Remedies, Remedy
from barfit.remedies.trials import BESIDE, Trials
from barfit.trade import Trade

Source = Callable[[Trials, Line], Iterator[Remedy]]
_SOURCES: tuple[tuple[Means, Source], ...] = (
    (Means.MOVE_CLIP, clips.slid),
    (Means.MOVE_CLIP, clips.left_out),
    (Means.REROUTE, routes.rerouted),
    (Means.TURN_FITTING, fittings.turned),
    (Means.ROLL_BAR, bars.rolled),
    (Means.MOVE_CONTROL, fittings.moved),
    (Means.SHORTER, lengths.shorter),
    (Means.NEXT_SIZE, lengths.longer),
    (Means.THROUGH_BAR, bars.through),
    (Means.LOWER_BAR, bars.lower),
)


@dataclass(frozen=True)
class Trying:
    """What is being tried for a line."""

    line: str
    means: Means


Tell = Callable[[Trying | Remedies], None]
"""Called with what is begun, and with all about a line as soon as that is known."""


def remedies(
    swept: Sweep,
    stock: Sweep,
    findings: Collection[LineFinding],
    trade: Trade,
    progress: Progress | None = None,
    cancelled: Cancel | None = None,
    only: str | None = None,
    tell: Tell = lambda _: None,
) -> tuple[Remedies, ...]:
    """What can be done about each line of ``swept`` that does not fit, in the lines' order.

    ``stock`` is the same setup swept with its stock bars, ``findings`` and ``trade`` are those of
    ``swept``. Every remedy is solved over the whole turn and travel with the change made. With
    ``only`` the line of that name, and what is replaced with it, is looked at, and no other.
    ``tell`` hears on the way what is tried, and of each line that does not fit what it will have in
    the answer, but for how lines stand with the lowest bar; one call at a time. Raises Cancelled,
    and KeyError for a name that is not there.
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

    def tick(trying: Trying | None = None) -> None:
        with lock:  # of two threads that report at once
            if trying is None:
                work.tick()
            else:
                tell(trying)

    about: dict[str, list[Remedy]] = {one.line: [] for one in findings if one.line not in misfits}

    def all_about(name: str) -> Remedies:
        line = setup.line(name)
        listed = ranked(name, about, line_kinds()[line.kind].family)
        return Remedies(name, listed, cap(trials, line, about[name]))

    asked_of = [one for one in findings if one.line in misfits]
    # no source hangs on another
    with ThreadPoolExecutor(BESIDE) as beside:
        each = [
            [
                beside.submit(_from, Trying(one.line, means), source, trials, tick)
                for means, source in _SOURCES
            ]
            for one in asked_of
        ]
        for one, parts in zip(asked_of, each, strict=True):
            before = [remedy for part in parts for remedy in part.result()]
            # by this thread, which waits: in the queue it would come after all other lines
            about[one.line] = [*_left(trials, one), *before, *_joined(trials, tick, one, before)]
            both = [other.name for other in lengths.pair(setup, setup.line(one.line))]
            if about.keys() >= {*both}:  # what is replaced together is ranked together
                for name in misfits:
                    if name in both:
                        known = all_about(name)
                        with lock:
                            tell(known)
    every = tuple(all_about(one.line) for one in findings)
    if only is not None:  # what the other lines need is not known
        return every
    lowest = bars.stands(trials, every)
    return tuple(replace(one, lowest=lowest.get(one.line)) for one in every)


Tick = Callable[[Trying | None], None]


def _from(trying: Trying, source: Source, trials: Trials, tick: Tick) -> list[Remedy]:
    tick(trying)
    found = list(source(trials, trials.setup.line(trying.line)))
    tick(None)
    return found


def _left(trials: Trials, finding: LineFinding) -> list[Remedy]:
    """A line left as it is, where that may do."""
    if finding.verdict not in (Verdict.UNCERTAIN, Verdict.RUBS):
        return []
    plan = Plan(Means.LEAVE, trials.setup)
    return [judged(trials, finding.line, plan, finding, trials.swept)]


def _joined(trials: Trials, tick: Tick, finding: LineFinding, before: list[Remedy]) -> list[Remedy]:
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
    tick(None)
    return found
