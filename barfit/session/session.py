"""The open setup and everything known about it: history, results, pose, selection.

Nothing here knows a window. What changes is told through plain events, on the thread that made
the change; a window only listens and draws. A setup is immutable, so an edit is a new setup, undo
is a list and an index, and a result carries the very setup it was computed for.
"""

from __future__ import annotations

import contextlib
from collections.abc import Hashable, Sequence
from pathlib import Path

from barfit import scenario
from barfit.analysis import Sweep, corrected, glance, problems
from barfit.analysis.glance import Glance
from barfit.history import History, Step
from barfit.model import Setup
from barfit.remedies import Remedies
from barfit.report.remarks import Topic
from barfit.scenario import OnDisk
from barfit.session.event import Event
from barfit.session.pose import Pose
from barfit.session.result import Result


class Session:
    """One open setup. ``path`` is where it came from, None when it has no file yet."""

    def __init__(self, setup: Setup, path: Path | None = None, unit: str | None = None) -> None:
        self._names: tuple[str, ...] = ()
        self._asked: Setup = setup  # what the failure, if any, is that of
        self.path = path
        self.failure: str | None = None  # why the setup has no result, where that is known
        self.unproposed: str | None = None  # why it has no remedies, where that is known
        self._told = ""  # the failure last told over the window
        self._saved: Setup | None = setup
        self._results: dict[bool, Result] = {}
        self._glances: dict[bool, Glance] = {}
        self._remedies: tuple[Setup, tuple[Remedies, ...]] | None = None
        self._so_far: tuple[Setup, dict[str, Remedies]] | None = None  # while they are sought
        self._start([Step(setup, "Open")], path, setup)
        self.pose = Pose()
        self.stock = False
        self.selected: str | None = None
        self.topic: Topic | None = None  # what is looked at in place of a line
        self.station = 0  # the number of the selected line's station that is looked at
        self.unit = unit or setup.unit
        self.opened: Event[[]] = Event()
        self.file_changed: Event[[]] = Event()
        self.setup_changed: Event[[]] = Event()
        self.bars_changed: Event[[]] = Event()
        self.results_changed: Event[[bool]] = Event()
        self.remedies_changed: Event[[]] = Event()
        self.pose_changed: Event[[]] = Event()
        self.selection_changed: Event[[]] = Event()
        self.station_changed: Event[[]] = Event()
        self.unit_changed: Event[[]] = Event()
        self.message: Event[[str]] = Event()

    # document

    @property
    def setup(self) -> Setup:
        """The setup as it now stands."""
        return self._history.now.setup

    @property
    def changed(self) -> bool:
        """Whether it differs from what was opened or last saved, or is in no file any more."""
        return self._alone or self.on_disk is OnDisk.GONE or self.setup != self._saved

    def open(self, path: Path) -> bool:
        """Open a scenario file instead.

        When the file cannot be used, one message goes out with all that is wrong with it,
        everything stays as it is and the answer is False.
        """
        setup = self._usable(path)
        if setup is None:
            return False
        self._replace([Step(setup, "Open")], path, setup)
        return True

    def begin(self, setup: Setup) -> None:
        """Begin with a setup that is in no file yet."""
        self._replace([Step(setup, "New setup")], None, None)

    def _usable(self, path: Path) -> Setup | None:
        """The setup in a file; None, and a message, where it cannot be used."""
        try:
            setup = scenario.load(path)
        except scenario.ScenarioError as error:
            self.message.emit(not_opened(error.name, error.problems, str(error)))
            return None
        impossible = problems(setup)
        if impossible:
            self.message.emit(not_opened(str(path), impossible, f"{path}: {impossible[0]}"))
            return None
        return setup

    def bring_back(self, setup: Setup, path: Path | None, known: str, name: str) -> None:
        """Open unsaved changes that were left behind, as one step of that name.

        ``path`` is the file they were made to, ``known`` the digest of what it held then. Where it
        still holds that, undo leads to it; otherwise there is nothing before the changes.
        """
        saved = None
        if path is not None and scenario.compare(path, known) is OnDisk.SAME:
            # it may not load all the same: a mesh it names is gone, say
            with contextlib.suppress(scenario.ScenarioError):
                saved = scenario.load(path)
        first = [Step(saved, "Open")] if saved is not None else []
        brought = [Step(setup, name if first else "Open")] if setup != saved else []
        self._replace([*first, *brought], path, saved, known)

    def save(self, path: Path) -> None:
        """Write the setup to a file. Raises ScenarioError when it cannot be written."""
        text = scenario.save(self.setup, path)
        self.path = path
        self._saved = self.setup
        self.settle()
        self._is_known(scenario.digest(text))

    def edit(self, setup: Setup, name: str, joins: Hashable = None) -> None:
        """Make this the setup, as one step of that name that can be undone.

        Edits that follow each other with the same ``joins`` (other than None) are one step: those
        of a drag, or of typing in one field. What is done in between to the history or the file,
        or ``settle``, ends the step. An edit that leads back to where its step began takes the
        step away, so that a drag given up is none.
        """
        if setup == self.setup:
            return
        if joins is None:
            self._history.add(Step(setup, name))
        else:
            self._history.join(Step(setup, name), joins)
        self._moved()

    def settle(self) -> None:
        """End the step that edits were joined to: the drag is over, the field was left."""
        self._history.settle()

    @property
    def undo_name(self) -> str | None:
        """The name of the edit that undo takes back; None when there is none."""
        return self._history.undo_name

    @property
    def redo_name(self) -> str | None:
        """The name of the edit that redo makes again; None when there is none."""
        return self._history.redo_name

    def undo(self) -> None:
        """Take back the last edit, if there is one."""
        if self._history.undo():
            self._moved()

    def redo(self) -> None:
        """Make the edit last taken back again, if there is one."""
        if self._history.redo():
            self._moved()

    def _moved(self) -> None:
        before = self._names
        self._names = line_names(self.setup)
        if not self.setup.asks_same(self._asked):
            self._asked = self.setup
            self.failure = self.unproposed = None
        lost = self.selected is not None and self.selected not in self._names
        if lost:
            # one that was only renamed stays selected
            renamed = len(before) == len(self._names)
            self.selected = self._names[before.index(str(self.selected))] if renamed else None
            self.station = 0
        self.setup_changed.emit()
        if lost:
            self.selection_changed.emit()

    def _start(
        self, steps: list[Step], path: Path | None, saved: Setup | None, known: str | None = None
    ) -> None:
        """Take these steps for the document; ``saved`` is what the file at ``path`` holds."""
        self._history = History(steps)
        self._names = line_names(self.setup)
        self._saved = saved
        self._alone = saved is None  # what is here is in no file, whatever it is compared with
        self._known = known if known is not None else scenario.digest(steps[0].setup.source)
        self.on_disk = OnDisk.SAME
        self._asked = self.setup
        self.failure = self.unproposed = None
        self._told = ""
        self.path = path

    def _replace(
        self, steps: list[Step], path: Path | None, saved: Setup | None, known: str | None = None
    ) -> None:
        """Let go of the document and of all that is known of it, and open this one."""
        self._start(steps, path, saved, known)
        self._results, self._glances, self._remedies, self._so_far = {}, {}, None, None
        self.pose = Pose()
        self.selected = self.topic = None
        self.opened.emit()
        self.setup_changed.emit()
        self.look_at_file()

    # its file

    @property
    def known(self) -> str:
        """The digest of what the file held when it was last read or written."""
        return self._known

    def look_at_file(self) -> OnDisk:
        """Find out whether the file still holds what was last read from it or written to it."""
        state = OnDisk.SAME if self.path is None else scenario.compare(self.path, self._known)
        if state is not self.on_disk:
            self.on_disk = state
            self.file_changed.emit()
        return state

    def read_again(self) -> bool:
        """Take in the file as it now is, as a step: what was there before can be had by undo.

        When the file cannot be used, one sentence goes out as a message, everything stays as it
        is and the answer is False.
        """
        assert self.path is not None
        setup = self._usable(self.path)
        if setup is None:
            return False
        self._history.add(Step(setup, "Read the file again"))
        self._saved = setup
        self._is_known(scenario.digest(setup.source))
        self._moved()
        return True

    def keep_mine(self) -> None:
        """Leave the file as it now is and the setup as it is here, to be saved over it."""
        assert self.path is not None
        self._is_known(scenario.look(self.path)[1], alone=True)
        self.look_at_file()

    def _is_known(self, known: str, alone: bool = False) -> None:
        self._known, self._alone, self.on_disk = known, alone, OnDisk.SAME
        self.file_changed.emit()

    # results

    def accept(self, result: Result) -> None:
        """Take in a finished result. One for a setup that is no longer open is dropped."""
        if not result.sweep.setup.asks_same(self.setup):
            return
        self._results[result.sweep.stock] = result
        self._told = ""
        self._glances.pop(result.sweep.stock, None)
        self.results_changed.emit(result.sweep.stock)
        if result.sweep.stock != self.stock:
            return
        lost = self.topic is not None and self.topic not in result.topics()
        if lost or (self.selected is None and self.topic is None):
            worst = result.worst()
            self.select(worst.line if worst else None)

    def propose(self, setup: Setup, found: tuple[Remedies, ...]) -> None:
        """Take in what can be done about the lines of a setup with its new bars."""
        if setup.asks_same(self.setup):
            self._remedies, self._so_far = (setup, found), None
            self.remedies_changed.emit()

    def propose_for(self, setup: Setup, one: Remedies) -> None:
        """Take in what can be done about one line, while others are still looked at."""
        if not setup.asks_same(self.setup):
            return
        if self._so_far is None or not self._so_far[0].asks_same(setup):
            self._so_far = setup, {}
        self._so_far[1][one.line] = one
        self.remedies_changed.emit()

    def remedies_of(self, line: str) -> Remedies | None:
        """What can be done about a line, None where that is not known, or not yet."""
        so_far = self._so_far
        known = {one.line: one for one in self.remedies or ()}
        if so_far is not None and so_far[0].asks_same(self.setup):
            known = {**so_far[1], **known}
        return known.get(line)

    def no_remedies(self, sentence: str) -> None:
        """Take in that what can be done could not be worked out, and why."""
        self.unproposed = sentence
        self.remedies_changed.emit()

    @property
    def remedies(self) -> tuple[Remedies, ...] | None:
        """What can be done about each line with the new bars; None while that is not known."""
        if self._remedies is None or not self._remedies[0].asks_same(self.setup):
            return None
        return self._remedies[1]

    def fail(self, sentence: str) -> None:
        """Take in that the setup's result could not be computed, and why."""
        self.failure = sentence
        if sentence != self._told:  # said over every edit it would push away what is worked on
            self._told = sentence
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
        return result is None or not result.sweep.setup.asks_same(self.setup)

    # what is known at once

    def glance(self, setup: Setup | None = None) -> Sweep | None:
        """All lines of a setup at the pose looked at, solved at once from how they lay before.

        Without ``setup`` that is the one that stands, while its result is on its way; None once
        that is there. ``setup`` may be any that is being tried out. None also where there is
        nothing yet to start from, and where it cannot be laid out. Takes some 10 to 50 ms.
        """
        if setup is None:
            if not self.stale():
                return None
            setup = self.setup
        pose, last, result = self.pose, self._glances.get(self.stock), self.result()
        try:
            if last is None and result is not None:
                last = glance.from_sweep(result.sweep, pose.turn, pose.travel)
            if last is None:
                return None
            if last.sweep.setup != setup or (last.turn, last.travel) != (pose.turn, pose.travel):
                last = glance.again(last, setup, pose.turn, pose.travel)
        except ValueError:  # it cannot be laid out: whoever asks for its result is told why
            return None
        self._glances[self.stock] = last
        by = {} if result is None else {one.line: one.sure.slack_by for one in result.findings}
        return corrected(last.sweep, by)

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
        """Select a line, or none; no topic any more."""
        if line != self.selected or self.topic is not None:
            self.selected, self.topic = line, None
            self.station = 0
            self.selection_changed.emit()

    def look_at(self, topic: Topic) -> None:
        """Look at what is to be said of a topic, and at no line."""
        if topic is not self.topic:
            self.selected, self.topic = None, topic
            self.station = 0
            self.selection_changed.emit()

    def select_station(self, number: int) -> None:
        """Look at a station of the selected line."""
        if number != self.station:
            self.station = number
            self.station_changed.emit()

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
