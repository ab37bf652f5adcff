"""The open setup and everything known about it: history, results, pose, selection.

Nothing here knows a window. What changes is told through plain events, on the thread that made
the change; a window only listens and draws. A setup is immutable, so an edit is a new setup, undo
is a list and an index, and a result carries the very setup it was computed for.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Generic, ParamSpec

import numpy as np

from barfit import scenario
from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict, problems
from barfit.model import Setup
from barfit.trade import Trade

P = ParamSpec("P")
BADNESS = {verdict: rank for rank, verdict in enumerate(Verdict)}


class Event(Generic[P]):
    """A list of callables that are called in the order in which they were connected."""

    def __init__(self) -> None:
        self._calls: list[Callable[P, object]] = []

    def connect(self, call: Callable[P, object]) -> None:
        """Call this from now on."""
        self._calls.append(call)

    def emit(self, *args: P.args, **kwargs: P.kwargs) -> None:
        """Call all that are connected."""
        for call in tuple(self._calls):
            call(*args, **kwargs)


@dataclass(frozen=True)
class Pose:
    """``turn`` rad, positive to the left; ``travel`` mm from ride height, compression positive."""

    turn: float = 0.0
    travel: float = 0.0


@dataclass(frozen=True, eq=False)
class Result:
    """A finished sweep with what it means. Its setup is the sweep's own."""

    sweep: Sweep
    findings: tuple[LineFinding, ...]
    trade: Trade = field(default_factory=Trade)

    def finding(self, line: str) -> LineFinding:
        """The finding for the line of that name. Raises KeyError."""
        for finding in self.findings:
            if finding.line == line:
                return finding
        raise KeyError(line)

    def worst(self) -> LineFinding | None:
        """The worst verdict, and of those the one that lacks most; None without lines."""
        return min(self.findings, key=lambda f: (-BADNESS[f.verdict], f.margin), default=None)


@dataclass(frozen=True)
class Step:
    """One place in the history: a setup and the name of the edit that led to it."""

    setup: Setup
    name: str


class Session:
    """One open setup. ``path`` is where it came from, None when it has no file yet."""

    def __init__(self, setup: Setup, path: Path | None = None, unit: str | None = None) -> None:
        self._history = [Step(setup, "Open")]
        self._at = 0
        self._saved = setup
        self._results: dict[bool, Result] = {}
        self.failure: str | None = None  # why the setup has no result, where that is known
        self.path = path
        self.pose = Pose()
        self.stock = False
        self.selected: str | None = None
        self.unit = unit or setup.unit
        self.opened: Event[[]] = Event()
        self.setup_changed: Event[[]] = Event()
        self.bars_changed: Event[[]] = Event()
        self.results_changed: Event[[bool]] = Event()
        self.pose_changed: Event[[]] = Event()
        self.selection_changed: Event[[]] = Event()
        self.unit_changed: Event[[]] = Event()
        self.message: Event[[str]] = Event()

    # document

    @property
    def setup(self) -> Setup:
        """The setup as it now stands."""
        return self._history[self._at].setup

    @property
    def changed(self) -> bool:
        """Whether it differs from what was opened or last saved."""
        return self.setup != self._saved

    def open(self, path: Path) -> bool:
        """Open a scenario file instead.

        When the file cannot be used, one message goes out with all that is wrong with it,
        everything stays as it is and the answer is False.
        """
        try:
            setup = scenario.load(path)
        except scenario.ScenarioError as error:
            self.message.emit(not_opened(error.name, error.problems, str(error)))
            return False
        impossible = problems(setup)
        if impossible:
            self.message.emit(not_opened(str(path), impossible, f"{path}: {impossible[0]}"))
            return False
        self._history = [Step(setup, "Open")]
        self._at = 0
        self._saved = setup
        self._results = {}
        self.failure = None
        self.path = path
        self.pose = Pose()
        self.selected = None
        self.opened.emit()
        self.setup_changed.emit()
        return True

    def save(self, path: Path) -> None:
        """Write the setup to a file. Raises ScenarioError when it cannot be written."""
        scenario.save(self.setup, path)
        self._saved = self.setup
        self.path = path

    def edit(self, setup: Setup, name: str) -> None:
        """Make this the setup, as one step of that name that can be undone."""
        if setup == self.setup:
            return
        self._history[self._at + 1 :] = [Step(setup, name)]
        self._go(self._at + 1)

    @property
    def undo_name(self) -> str | None:
        """The name of the edit that undo takes back; None when there is none."""
        return self._history[self._at].name if self._at > 0 else None

    @property
    def redo_name(self) -> str | None:
        """The name of the edit that redo makes again; None when there is none."""
        after = self._history[self._at + 1 : self._at + 2]
        return after[0].name if after else None

    def undo(self) -> None:
        """Take back the last edit, if there is one."""
        if self._at > 0:
            self._go(self._at - 1)

    def redo(self) -> None:
        """Make the edit last taken back again, if there is one."""
        if self._at + 1 < len(self._history):
            self._go(self._at + 1)

    def _go(self, at: int) -> None:
        self._at = at
        self.failure = None
        self.setup_changed.emit()
        if self.selected is not None and self.selected not in line_names(self.setup):
            self.select(None)

    # results

    def accept(self, result: Result) -> None:
        """Take in a finished result. One for a setup that is no longer open is dropped."""
        if result.sweep.setup != self.setup:
            return
        self._results[result.sweep.stock] = result
        self.results_changed.emit(result.sweep.stock)
        if self.selected is None and result.sweep.stock == self.stock:
            worst = result.worst()
            self.select(worst.line if worst else None)

    def fail(self, sentence: str) -> None:
        """Take in that the setup's result could not be computed, and why."""
        self.failure = sentence
        self.message.emit(sentence)
        self.results_changed.emit(self.stock)

    def result(self, stock: bool | None = None) -> Result | None:
        """The last result for the stock or new bars (by default: those shown), or None.

        It may belong to the setup before the last edit; see ``stale``. It never belongs to
        another document.
        """
        return self._results.get(self.stock if stock is None else stock)

    def stale(self, stock: bool | None = None) -> bool:
        """Whether a result is missing or belongs to the setup before an edit."""
        result = self.result(stock)
        return result is None or result.sweep.setup != self.setup

    # what is looked at

    def show_bars(self, stock: bool) -> None:
        """Look at the stock or at the new bars."""
        if stock != self.stock:
            self.stock = stock
            self.bars_changed.emit()

    def turn_to(self, turn: float, travel: float | None = None) -> None:
        """Turn the steering (rad), no further than the locks, and move the suspension (mm)."""
        machine = self.setup.machine
        turn = min(max(turn, -machine.lock_right), machine.lock_left)
        pose = Pose(turn, self.pose.travel if travel is None else travel)
        if pose != self.pose:
            self.pose = pose
            self.pose_changed.emit()

    def select(self, line: str | None) -> None:
        """Select a line, or none."""
        if line != self.selected:
            self.selected = line
            self.selection_changed.emit()

    def use_unit(self, unit: str) -> None:
        """Show lengths in "mm" or "in"."""
        if unit != self.unit:
            self.unit = unit
            self.unit_changed.emit()


def line_names(setup: Setup) -> tuple[str, ...]:
    """The names of a setup's lines, in its order."""
    return tuple(line.name for line in setup.lines)


def not_opened(name: str, problems: Sequence[object], alone: str) -> str:
    """That a file was not opened, and every problem on a line of its own; or ``alone``, in one
    sentence, when there is but one.
    """
    if len(problems) == 1:
        return f"Not opened: {alone.rstrip('.')}."
    told = (f"\n{number}. {problem}" for number, problem in enumerate(problems, start=1))
    return f"Not opened: {name} has {len(problems)} problems.{''.join(told)}"


def travel_row(line: LineSweep, travel: float) -> int:
    """The row of the suspension position nearest to ``travel`` (mm) that the line was swept at."""
    return int(np.argmin(np.abs(line.travels - travel)))


@dataclass(frozen=True)
class PoseNumbers:
    """One line at one pose: mm and N; nan where the pose beside it did not converge."""

    slack: float
    min_radius: float
    tension: float


def at_pose(sweep: Sweep, line: str, pose: Pose) -> PoseNumbers:
    """A line's numbers at a pose, linear between the angles of the sweep.

    Raises KeyError for an unknown line.
    """
    swept = sweep.line(line)
    row = travel_row(swept, pose.travel)
    slack, radius, tension = (
        float(np.interp(pose.turn, sweep.angles, table[row]))
        for table in (swept.slack, swept.min_radius, swept.tension)
    )
    return PoseNumbers(slack, radius, tension)
