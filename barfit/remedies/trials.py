"""Changed setups, solved as far as a question needs: what a line has to spare, or all about it."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from barfit import edits
from barfit.analysis import Cancelled, LineFinding, Sweep, Verdict, findings, sweep
from barfit.analysis.calibration import observations, tells
from barfit.analysis.lengths import span_needs
from barfit.analysis.lent import Lender
from barfit.analysis.once import Once
from barfit.analysis.touching import touches
from barfit.analysis.verdicts import lost, margin
from barfit.analysis.work import Cancel
from barfit.catalogue import line_kinds
from barfit.geometry.pose import body_motion, layout
from barfit.model import Line, Setup
from barfit.remedies.remedy import FIRST_LOOK, Stand
from barfit.trade import Trade
from barfit.trade.holding import lies_on

# Between the turn angles of a sweep: one that is to say everything, as a check does, and one that
# is to say what a line has to spare. The worst pose is refined in both, so that they agree to
# 0.1 mm, but for bends (see `FIRST_LOOK`). With steps of 8° one line in seven went astray from one
# angle to the next (20 to 60 mm off, or lost), with 4° one in twenty, with 2° none of 170;
# following them costs no more, because none has to be rescued.
FULL_STEP = math.radians(1.0)
_SPARE_STEP = math.radians(2.0)
TELLING = 1.0  # mm of margin that are more than none
BESIDE = 2  # things that are solved beside each other: the solver's loops leave a core free
_NEAR = 30.0  # mm: a line that passes a clip or guide nearer than that may feel it


@dataclass(frozen=True)
class Spare:
    """What a line has to spare: its ``margin`` and least ``slack``, mm; nan where not known."""

    margin: float
    slack: float


NOTHING = Spare(math.nan, math.nan)


class Trials:
    """Solves changes to one setup, each for the lines that it touches; the rest stays as it is.

    Several threads may ask at once.
    """

    def __init__(
        self,
        swept: Sweep,
        stock: Sweep,
        found: Collection[LineFinding],
        figures: Trade,
        cancelled: Cancel | None = None,
    ) -> None:
        self.swept, self.stock, self.setup, self.figures = swept, stock, swept.setup, figures
        self.found = {finding.line: finding for finding in found}
        # as any check of a changed setup looks at it, so that both say the same
        self._seen = observations(self.setup, swept, cancelled)
        self._lender = Lender(swept)  # a line that is only longer goes the same way
        self._cancelled = cancelled
        self._looked: Once[tuple[Setup, tuple[str, ...]], dict[str, Spare]] = Once()
        self._solved: Once[tuple[Setup, str], tuple[LineFinding, Sweep] | None] = Once()

    def lacks(self, line: str) -> bool:
        """Whether more margin would help a line as it is: not one that is too long, nor one that is
        long enough and rubs or is pinched.
        """
        finding = self.found[line]
        enough = finding.verdict in (Verdict.RUBS, Verdict.PINCHED) and finding.margin >= 0.0
        return finding.verdict is not Verdict.TOO_LONG and not enough

    def margin(self, line: str, corrected: bool) -> float:
        """The margin of a line as it is, mm, ``corrected`` by slack found on the machine or not."""
        finding = self.found[line]
        return finding.margin - (0.0 if corrected else finding.sure.margin_by)

    def band(self, line: str) -> float:
        """How much margin a line needs to be sure of it once slack found on it tells no more, mm; 0
        where that is not known.
        """
        band = 2.0 * self.found[line].sure.before
        return band if math.isfinite(band) else 0.0

    def spare(self, setup: Setup, lines: Iterable[str]) -> dict[str, Spare]:
        """What these lines have to spare in a changed setup, corrected as before where slack was
        found and still tells. `NOTHING` for all where it cannot be laid out. Raises Cancelled.
        """
        key = setup, tuple(lines)
        return self._looked.of(key, lambda: self._look(*key))

    def _look(self, setup: Setup, names: tuple[str, ...]) -> dict[str, Spare]:
        try:
            there = self._sweep(setup, names, _SPARE_STEP, settle=False)
        except ValueError:
            return dict.fromkeys(names, NOTHING)
        self._lender.keep(there)
        needs = span_needs(there)
        out = {}
        for one in there.lines:
            sure = self.found[one.name].sure
            kept = setup.line(one.name).found_slack is not None
            by = (sure.margin_by, sure.slack_by) if kept else (0.0, 0.0)
            left = math.nan if lost(there, one) else margin(one, needs[one.name])
            out[one.name] = Spare(left + by[0], float(np.min(one.slack)) + by[1])
        return out

    def finding(self, setup: Setup, line: str) -> tuple[LineFinding, Sweep] | None:
        """All about one line of a changed setup, and its sweep; None where it cannot be laid out.

        Raises Cancelled.
        """
        key = setup, line
        return self._solved.of(key, lambda: self._finding(setup, line))

    def _finding(self, setup: Setup, line: str) -> tuple[LineFinding, Sweep] | None:
        try:
            there = self._sweep(setup, (line,), FULL_STEP)
        except ValueError:
            return None
        tell = {one.name for one in setup.lines if tells(one)}
        # what a bar or riser is off by counts for both sets where they are one and the same
        seen = self._seen.of(tell, setup.lines) if _alike(setup) == _alike(self.setup) else None
        (found,) = findings(
            there, cancelled=self._cancelled, seen=seen, windows=False, lender=self._lender
        )
        return found, there

    def stands(self, setup: Setup, lines: tuple[str, ...]) -> dict[str, Stand]:
        """How these lines stand in a changed setup; none where it cannot be laid out. Raises
        Cancelled.
        """
        with ThreadPoolExecutor(BESIDE) as beside:
            found = list(beside.map(lambda name: self.finding(setup, name), lines))
        return {
            name: Stand(one[0].verdict, one[0].margin, 0.5 * one[0].sure.two_sigma)
            for name, one in zip(lines, found, strict=True)
            if one is not None
        }

    def lies_on(self, finding: LineFinding) -> tuple[str, ...]:
        """The parts that a line lies on and should not, and did not with the stock bars."""
        before = touches(self.stock, self.stock.line(finding.line))
        line = self.setup.line(finding.line)
        return lies_on(self.setup.machine, line, finding.touches, before)

    def worse(self, setup: Setup, lines: Iterable[str]) -> dict[str, float]:
        """Which of these lines have less to spare in a changed setup, and then too little: how much
        that is, mm; nan where not known.
        """
        found = {}
        for name, spare in self.spare(setup, lines).items():
            now, was = spare.margin, self.found[name].margin
            if now < was and abs(now) <= FIRST_LOOK and (there := self.finding(setup, name)):
                now = there[0].margin  # a first look does not tell whether that is too little
            lost = math.isnan(now) and not math.isnan(was)
            if (was - now > TELLING and now < 0.0) or lost:
                found[name] = now
        return found

    def too_long(self, setup: Setup, lines: Iterable[str]) -> tuple[str, ...]:
        """Which of these lines are longer than is sensible in a changed setup, and are not now."""
        found = []
        for name, spare in self.spare(setup, lines).items():
            # never up to the next size, so that only what hangs looser than that is solved
            kind = line_kinds()[setup.line(name).kind]
            loose = spare.slack > kind.target_slack + kind.increment - FIRST_LOOK
            if not loose or self.found[name].verdict is Verdict.TOO_LONG:
                continue
            there = self.finding(setup, name)
            if there is not None and there[0].verdict is Verdict.TOO_LONG:
                found.append(name)
        return tuple(found)

    def passing(self, points: np.ndarray, but: str) -> tuple[str, ...]:
        """The lines, ``but`` one, that straight ahead pass any of these points (K, 3) closely."""
        ahead = int(np.abs(self.swept.angles).argmin())
        near = []
        for line in self.swept.lines:
            row = int(np.abs(line.travels).argmin())
            away = np.linalg.norm(line.shapes[row, ahead][:, None] - points[None], axis=-1)
            if line.name != but and away.min(initial=math.inf) < _NEAR:
                near.append(line.name)
        return tuple(near)

    def at_rest(self, setup: Setup, line: str) -> Sweep:
        """A line at rest in a changed setup that can be laid out, at a few turns."""
        return self._sweep(setup, (line,), _SPARE_STEP)

    def hopeless(self, setup: Setup, line: str) -> bool:
        """Whether a line surely does not fit in a changed setup, by the straight way alone from
        station to station at the pose at which it is worst off now: it needs no less there.
        """
        was = self.found[line]
        most = setup.line(line).length - self.straight(setup, line) - was.least
        return not hopeful(Spare(most + abs(was.sure.margin_by), math.nan), was)

    def straight(self, setup: Setup, name: str) -> float:
        """The straight way, mm, from station to station of a line in a changed setup, at the pose
        at which it is worst off now; 0 where it cannot be laid out.
        """
        finding, machine = self.found[name], setup.machine
        try:
            places = layout(setup, setup.bars(self.swept.stock))[name]
        except ValueError:
            return 0.0
        points = []
        for body, point in zip(places.bodies, places.points, strict=True):
            turned, shift = body_motion(machine, body, finding.worst_turn, finding.worst_travel)
            points.append(turned @ point + shift)
        return float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum())

    def _sweep(
        self, setup: Setup, lines: tuple[str, ...], step: float, settle: bool = True
    ) -> Sweep:
        if self._cancelled is not None and self._cancelled():
            raise Cancelled
        return sweep(
            setup,
            stock=self.swept.stock,
            step=step,
            lent=self._lender,
            only=lines,
            settle=settle,
            both_ways=False,  # no remedy tells of snapping over, and no verdict hangs on it
            cancelled=self._cancelled,
        )


def _alike(setup: Setup) -> tuple[bool, bool]:
    """Whether the new bar, and the new riser, are the stock ones."""
    return setup.stock.bar == setup.new.bar, setup.stock.riser == setup.new.riser


STRAIGHT = "even drawn straight it would be too short"


def without_station(setup: Setup, line: str, index: int) -> Setup:
    """The setup with a guide or clip of a line left out; slack found with it tells nothing then."""
    return edits.change_line(edits.delete_station(setup, line, index), line, found_slack=None)


def hopeful(spare: Spare, was: LineFinding) -> bool:
    """Whether a line may fit, given what it has to spare."""
    return spare.margin >= -band_now(was)


def band_now(was: LineFinding) -> float:
    """How far off a margin may be, mm; where that is not known, half of it."""
    band = was.sure.two_sigma
    if math.isfinite(band):
        return band
    return 0.0 if math.isnan(was.margin) else 0.5 * abs(was.margin)


def with_lines(setup: Setup, *lines: Line) -> Setup:
    """The setup with these lines in place of those of the same names."""
    changed = {line.name: line for line in lines}
    return replace(setup, lines=tuple(changed.get(one.name, one) for one in setup.lines))
