"""What the window does about alternatives: other ways for a line to go, other bars to fit."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from barfit import compare, edits
from barfit.compare import BarsNumbers, Trial
from barfit.compare.words import least_sentence
from barfit.geometry.pose import layout
from barfit.model import Line, Setup
from barfit.scene.behind import Route
from barfit.scene.colours import Colour
from barfit.session import Result, line_names
from barfit.ui.bars_table import BarsColumn
from barfit.ui.comparer import Comparer
from barfit.ui.ribbons import Ribbon, with_way
from barfit.ui.worker import Worker

if TYPE_CHECKING:
    from barfit.ui.window import Window

WAITING = "Being worked out …"


class Alternatives(QObject):
    """Keeps the table of bars and the ways of the selected line showing what the session holds,
    and carries out what is asked for there. Nothing is computed that nobody looks at.
    """

    def __init__(self, window: Window, worker: Worker) -> None:
        super().__init__(window)
        self._window, self._session = window, window.session
        self.comparer = Comparer(worker, self)
        self.comparer.changed.connect(self._known)
        self._side, self._ways = window.setup_side, window.line_side.ways
        self._last: dict[str, Trial] = {}  # of each set of bars, also from before an edit
        self._compared: tuple[str, str] = ("", "")  # a line, and the way it is held against
        self._drawn: tuple[Trial, str, Route] | None = None
        self.comparer.progressed.connect(self._side.all_bars.show_progress)
        self._side.page_picked.connect(self._show_page)
        self._side.all_bars.picked.connect(self._use_bars)
        self._side.all_bars.added.connect(self._add_bars)
        self._side.all_bars.deleted.connect(self._delete_bars)
        self._ways.picked.connect(self.use_way)
        self._ways.added.connect(self.add_way)
        self._ways.deleted.connect(self._delete_way)
        self._ways.kept.connect(self._keep_way)
        self._ways.compared.connect(self._compare)
        window.worker.looked.connect(self._go_on)  # remedies take their time
        window.worker.idle.connect(self.comparer.go_on)
        self._session.opened.connect(self._last.clear)

    def _go_on(self, part: float) -> None:
        self.comparer.go_on()

    def setup_changed(self) -> None:
        """An edit, or another file: the window computes first."""
        self.comparer.rest()
        self.show()

    def keep(self, result: Result) -> None:
        """What the window has found out for itself need not be found again."""
        self.comparer.keep(result)
        self.show()

    def show(self) -> None:
        """Show all of it anew, and see to it that what is missing is worked out."""
        wanted: list[Setup] = []
        if self._side.showing_all_bars:
            wanted += self._show_bars()
        wanted += self._show_ways()
        self.comparer.want(wanted)
        self._window.viewport.show_other_way(self._route())

    # bars

    def _show_page(self, all_bars: bool) -> None:
        self._side.show_page(all_bars)
        self.show()
        self._window.mirror.show_summary()

    def _columns(self) -> list[BarsColumn]:
        setup = self._session.setup
        shown: list[BarsColumn] = []
        fresh: list[BarsNumbers] = []
        for name, one in compare.bars(setup):
            used, now = name == setup.new.title, self.comparer.get(one)
            if now is not None:
                self._last[name] = now
                fresh.append(compare.bars_numbers(now, name, used))
            last = self._last.get(name)
            numbers = compare.bars_numbers(last, name, used) if last is not None else None
            why = self.comparer.failure(one)
            shown.append(BarsColumn(name, used, numbers, now is None, why))
        if len(fresh) == len(shown):
            shown = [BarsColumn(one.name, one.used, one) for one in compare.ranked(fresh)]
        # always in the same place, whichever are the new ones
        return sorted(shown, key=lambda column: column.name.casefold())

    def _show_bars(self) -> list[Setup]:
        setup = self._session.setup
        self._side.all_bars.show_bars(self._columns(), line_names(setup), self._session.unit)
        return [one for _, one in compare.bars(setup)]

    def summary(self) -> str | None:
        """Which bars need least; None where they are not what is shown."""
        if not self._side.showing_all_bars:
            return None
        columns = self._columns()
        failed = [column for column in columns if column.why]
        if failed:
            return f"'{failed[0].name}' could not be worked out: {failed[0].why}"
        numbers = [column.numbers for column in columns if column.numbers and not column.stale]
        if len(numbers) < len(columns):
            return WAITING
        alone = "" if len(numbers) > 1 else "These are the only bars in the file."
        return " ".join(filter(None, (least_sentence(numbers), alone)))

    def _use_bars(self, name: str) -> None:
        self._edit(lambda setup: edits.use_other_bars(setup, name), f"Take other bars: {name}")

    def _add_bars(self) -> None:
        name = edits.fresh_name("other bars", edits.bars_names(self._session.setup))
        self._edit(lambda setup: edits.add_bars(setup, name), f"Add bars to compare: {name}")

    def _delete_bars(self, name: str) -> None:
        self._edit(lambda setup: edits.delete_bars(setup, name), f"Delete bars: {name}")

    # ways to go

    def _line(self) -> Line | None:
        setup, name = self._session.setup, self._session.selected
        return setup.line(name) if name is not None and name in line_names(setup) else None

    def _pair(self) -> tuple[Line, str] | None:
        """The line that is compared, selected or not, and the way held against the one in use."""
        setup, (name, way) = self._session.setup, self._compared
        if name not in line_names(setup):
            return None
        line = setup.line(name)
        others = [one for one in edits.routing_names(line) if one != line.routing]
        return (line, way if way in others else others[0]) if others else None

    def _show_ways(self) -> list[Setup]:
        setup, line, pair = self._session.setup, self._line(), self._pair()
        if pair is None:
            self._ways.show_line(line, self._window.line_side.changing, "")
            return []
        compared, against = pair
        here = line is not None and line.name == compared.name
        self._ways.show_line(line, self._window.line_side.changing, against if here else "")
        other = edits.use_routing(setup, compared.name, against)
        trials = [self.comparer.get(one) for one in (setup, other)]
        if trials[0] is None or trials[1] is None:
            why = self.comparer.failure(other) or self.comparer.failure(setup)
            self._ways.table.show_waiting(why or WAITING)
        else:
            self._ways.table.show_ways(
                compare.way_numbers(trials[0], compared.name, compared.routing, True),
                compare.way_numbers(trials[1], compared.name, against, False),
                self._session.unit,
            )
        return [setup, other]

    def _route(self) -> Route | None:
        """The way that a line is held against, to be drawn; None where there is none, or where the
        picture is of something else.
        """
        pair = self._pair()
        if pair is None or self._session.stock:
            return None
        line, against = pair
        other = edits.use_routing(self._session.setup, line.name, against)
        trial = self.comparer.get(other)
        if trial is None:
            return None
        if self._drawn is None or self._drawn[0] is not trial or self._drawn[1] != against:
            route = Route(
                line=trial.sweep.line(line.name),
                angles=trial.sweep.angles,
                places=layout(other, other.new)[line.name],
                radius=0.5 * line.diameter,
                allowed_radius=trial.finding(line.name).allowed_radius,
                words=f"or: {against}",
            )
            self._drawn = trial, against, route
        return self._drawn[2]

    def ribbons(
        self, rows: tuple[Ribbon, ...], travel: float, mode: Colour, unknown: str
    ) -> tuple[Ribbon, ...]:
        """The strip's rows, with the way that a line is held against under its own."""
        pair = self._pair()
        if pair is None or self._session.stock:
            return rows
        line, against = pair
        trial = self.comparer.get(edits.use_routing(self._session.setup, line.name, against))
        if trial is None:
            return rows
        return with_way(rows, trial, line.name, against, travel, mode, unknown)

    def _compare(self, way: str) -> None:
        line = self._line()
        self._compared = (line.name, way) if line is not None and way else ("", "")
        self._known()

    def use_way(self, name: str) -> None:
        """The selected line goes that way instead."""
        self._edit_line(
            lambda setup, line: edits.use_routing(setup, line, name), "Take another way", name
        )

    def add_way(self) -> None:
        """The selected line goes another way, at first a copy of this one."""
        line = self._line()
        if line is not None:
            name = edits.fresh_name("another way", edits.routing_names(line))
            self._edit_line(
                lambda setup, line: edits.add_routing(setup, line, name), "Try another way", name
            )

    def _delete_way(self, name: str) -> None:
        self._edit_line(
            lambda setup, line: edits.delete_routing(setup, line, name), "Delete way", name
        )

    def _keep_way(self, name: str) -> None:
        self._edit_line(
            lambda setup, line: edits.keep_routing(setup, line, name), "Keep one way", name
        )

    # both

    def _known(self) -> None:
        """More is known, or something else is looked at."""
        self.show()
        self._window.mirror.show_strip()
        self._window.mirror.show_summary()

    def _edit_line(self, change: Callable[[Setup, str], Setup], step: str, name: str) -> None:
        line = self._line()
        if line is not None:
            self._edit(lambda setup: change(setup, line.name), f"{step}: {name}")
        self.show()  # also where it was refused: the button pressed is not what holds

    def _edit(self, change: Callable[[Setup], Setup], step: str) -> None:
        try:
            self._window.changing.take(change(self._session.setup), step)
        except ValueError as error:
            self._window.message.say(str(error))
