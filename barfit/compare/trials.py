"""One alternative, judged: what is kept of its sweep, and a store of those already judged."""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass, replace

import numpy as np

from barfit.analysis import LineFinding, LineSweep, Sweep, corrected, findings, sweep
from barfit.analysis.work import Cancel, Progress
from barfit.model import Job, Setup
from barfit.report.quantities import Quantity
from barfit.report.remarks import worst_first
from barfit.report.trade import remarks
from barfit.trade import Grade, Trade, trade
from barfit.trade.cables import total_bend

SWEEP_SHARE, FINDINGS_SHARE = 0.3, 0.6  # of the time; the rest goes to the stock bars
_KEPT = 24  # trials, some 1.2 MB each


@dataclass(frozen=True, eq=False)
class Trial:
    """A setup with its new bars, judged.

    ``sweep`` is without ``spans`` and ``pressing``, and its shapes and radii are of single
    precision: a comparison needs the tables over the poses, and how lines lie only to draw them.
    ``bends`` are the greatest total bends of the lines, rad, in their order, of the poses where
    they are long enough (nan where none is). ``rejected`` are the remarks that are not acceptable,
    each with the line it is about, "" where the bars themselves are; ``depths`` how deep lines are
    in what they run into, mm, each with its line.
    """

    sweep: Sweep
    findings: tuple[LineFinding, ...]
    bends: tuple[float, ...]
    rejected: tuple[tuple[str, str], ...]
    depths: tuple[tuple[str, float], ...] = ()

    @property
    def setup(self) -> Setup:
        """What was judged."""
        return self.sweep.setup

    def finding(self, line: str) -> LineFinding:
        """The finding for the line of that name. Raises KeyError."""
        for finding in self.findings:
            if finding.line == line:
                return finding
        raise KeyError(line)

    def bend(self, line: str) -> float:
        """The greatest total bend of the line of that name, rad. Raises KeyError."""
        return dict(zip((one.line for one in self.findings), self.bends, strict=True))[line]

    def refusals(self, line: str = "") -> tuple[str, ...]:
        """Why the line of that name, or by default the bars, are not acceptable."""
        return tuple(why for about, why in self.rejected if about == line)

    def depth(self, line: str) -> float:
        """How deep the line of that name is in what it runs into, mm; 0 where it runs into none."""
        return max((deep for about, deep in self.depths if about == line), default=0.0)


def judge(setup: Setup, progress: Progress | None = None, cancelled: Cancel | None = None) -> Trial:
    """Sweep a setup with its new bars and say what it means.

    Raises Cancelled, and LayoutError or ValueError for a setup that cannot be laid out.
    """

    def stage(begin: float, share: float) -> Progress:
        return lambda part: progress(begin + share * part) if progress is not None else None

    swept = sweep(setup, progress=stage(0.0, SWEEP_SHARE), cancelled=cancelled)
    found = findings(swept, stage(SWEEP_SHARE, FINDINGS_SHARE), cancelled)
    begin = SWEEP_SHARE + FINDINGS_SHARE
    before = sweep(setup, stock=True, progress=stage(begin, 1.0 - begin), cancelled=cancelled)
    figures = trade(swept, before, found)
    return made(corrected(swept, {one.line: one.sure.slack_by for one in found}), found, figures)


def made(swept: Sweep, found: tuple[LineFinding, ...], figures: Trade) -> Trial:
    """The trial of a setup that is judged already: its sweep (as corrected), findings, figures."""
    said = worst_first(remarks(figures, swept.setup, swept.setup.unit))
    return Trial(
        sweep=replace(swept, lines=tuple(_slim(line) for line in swept.lines)),
        findings=found,
        bends=tuple(_greatest_bend(line) for line in swept.lines),
        rejected=tuple(
            (one.about if one.line else "", one.sentence or one.term)
            for one in said
            if one.grade is Grade.REJECT
        ),
        depths=tuple(
            (one.about, -one.judged.value)
            for one in said
            if one.line
            and one.grade is Grade.REJECT
            and one.quantity is Quantity.LENGTH
            and one.judged.value < 0.0
        ),
    )


def question(setup: Setup) -> Setup:
    """The setup without what no number depends on: names, notes and what is put aside.

    What differs in that alone has the same answer.
    """
    return replace(
        setup,
        title="",
        note="",
        job=Job(),
        new=replace(setup.new, name=""),
        other_bars=(),
        lines=tuple(replace(line, routing="", routings=(), note="") for line in setup.lines),
    )


class Trials:
    """The trials made last, by their question."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Setup, Trial] = OrderedDict()

    def get(self, setup: Setup) -> Trial | None:
        """The trial of this setup, if it was made."""
        key = question(setup)
        if key in self._kept:
            self._kept.move_to_end(key)
        return self._kept.get(key)

    def keep(self, trial: Trial) -> None:
        """Keep a trial; of too many the one not asked for longest goes."""
        self._kept[question(trial.setup)] = trial
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)


def _greatest_bend(line: LineSweep) -> float:
    bend = np.where(line.slack >= 0.0, total_bend(line), math.nan)
    return float(np.nanmax(bend)) if np.isfinite(bend).any() else math.nan


def _slim(line: LineSweep) -> LineSweep:
    return replace(
        line,
        shapes=line.shapes.astype(np.float32),
        radii=line.radii.astype(np.float32),
        spans=(),
        pressing=(),
    )
