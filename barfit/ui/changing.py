"""Changing the setup in the window: its forms, the handles in the picture, and taking edits in."""

from __future__ import annotations

from collections.abc import Callable
from threading import Thread
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QTimer

from barfit.analysis.glance import from_sweep
from barfit.edits.touched import Touched, touched
from barfit.forms import Field
from barfit.model import Setup
from barfit.session import line_names
from barfit.ui.attempt import Attempt
from barfit.ui.change_side import Part
from barfit.ui.editing import take_in
from barfit.ui.field_row import FieldRow
from barfit.ui.hand import Held
from barfit.ui.reshaping import Reshaping
from barfit.ui.sliding import Sliding

if TYPE_CHECKING:
    from barfit.ui.window import Window


DWELL = 500  # ms


class Changing:
    """Shows one window's forms or what was found, and takes in what they ask for."""

    def __init__(self, window: Window) -> None:
        self._window, self._session = window, window.session
        self._body, self._line_side = window.body, window.line_side
        self._viewport = viewport = window.viewport
        self.attempt = Attempt(window.session, viewport.hand, viewport)
        self.reshaping = Reshaping(window.session, viewport.hand, viewport.scene, self.attempt)
        self.sliding = Sliding(window.session, viewport.hand, self.attempt)
        self._warm = False
        body = self._body
        self._line_side.page_picked.connect(self.show_line_page)
        self._line_side.change.station_picked.connect(window.session.select_station)
        self._line_side.change.line_picked.connect(window.session.select)
        body.change_side.done.connect(self.answer)
        body.change_side.looked_at.connect(lambda _: self.show_stations())
        self._line_side.change.done.connect(self.answer)
        self._line_side.page_picked.connect(lambda _: self.show_stations())
        for side in (self._line_side.change, body.change_side, self.reshaping, self.attempt):
            side.edited.connect(self.edited)
        self.attempt.tried.connect(window.mirror.show_tried)
        self.attempt.given_up.connect(window.mirror.show_all)
        self.sliding.looked_at.connect(self.look_at_control)
        viewport.hand.hovered.connect(self._hint)
        viewport.hand.control_doubled.connect(self._unlock)
        self._pointed: tuple[Held, QPointF] | None = None
        self._dwelt = QTimer(viewport)  # words on what cannot be drawn yet wait until one stays
        self._dwelt.setSingleShot(True)
        self._dwelt.setInterval(DWELL)
        self._dwelt.timeout.connect(self._hint_locked)

    def change(self) -> None:
        """The forms on the left and on the right."""
        self._body.left.setCurrentWidget(self._body.change_side)
        self.show_line_page(True)
        self._body.change_side.parts.setFocus()
        self.show_stations()
        self.warm_up()

    def change_bars(self) -> None:
        """The forms, with the bars that are looked at."""
        stock = self._window.session.stock
        self._body.change_side.show_part(Part("stock" if stock else "new"))
        self.change()

    def answer(self) -> None:
        """What was found, on the left and on the right."""
        self._body.left.setCurrentWidget(self._window.setup_side)
        self.show_line_page(False)
        self.show_stations()

    def show_line_page(self, change: bool) -> None:
        """What of the selected line can be changed, or what was found of it."""
        self._line_side.show_page(change)
        self._window.alternatives.show()

    def warm_up(self) -> None:
        """Load the compiled solver (a second or more) before the first edit waits for it."""
        result, pose = self._session.result(), self._session.pose
        if self._warm or result is None:
            return
        self._warm = True
        Thread(
            target=from_sweep,
            args=(result.sweep, pose.turn, pose.travel),
            name="solver being loaded",
            daemon=True,
        ).start()

    def take(self, setup: Setup, step: str) -> None:
        """Make the edited setup the session's, as one step; or say why not."""
        self.edited(setup, step, None)

    def edited(self, setup: Setup | None, step: str, row: FieldRow | None) -> None:
        """A form asks for an edit; one without a setup says in ``step`` why there is none."""
        why = step if setup is None else take_in(self._session, setup, step)
        if row is not None and why:
            row.refuse(why)
        elif why:
            self._window.message.say(why)
        elif row is not None:
            row.accept()

    def undo(self) -> None:
        """Take back the last step, and look at what it was about."""
        self._go(self._session.undo)

    def redo(self) -> None:
        """Make the step last taken back again, and look at what it is about."""
        self._go(self._session.redo)

    def _go(self, step: Callable[[], None]) -> None:
        session, before = self._session, self._session.setup
        step()
        about = touched(before, session.setup)
        if about.line is not None:
            session.select(about.line)
            if about.station is not None:
                session.select_station(about.station)
        part = _part(about)
        if part is not None:
            self._body.change_side.show_part(part)

    def delete_station(self) -> None:
        """Take out the guide or clip looked at, where guides and clips are shown."""
        if self._line_side.changing:
            self.reshaping.delete()

    def show_stations(self) -> None:
        """Handles at the stations of the selected line while it is being changed."""
        chosen = self._session.selected is not None and not self._body.alone
        changing = self._line_side.changing and chosen
        self._viewport.show_stations(self.reshaping.mark() if changing else None)
        forms = self._body.left.currentWidget() is self._body.change_side and not self._body.alone
        part = self._body.change_side.part
        looked_at = part.name if forms and part.kind == "control" else None
        self._viewport.show_controls(forms, looked_at)

    def look_at_control(self, name: str) -> None:
        """The form of a control on the left."""
        self._body.change_side.show_part(Part("control", name))

    def show_station(self) -> None:
        """The form of the station looked at, the keys on it."""
        self.change()
        self._line_side.change.station_button(self._session.station).setFocus()

    def guide_at(self, x: float, y: float) -> None:
        """A guide in the selected line, at a place of the picture (pixels)."""
        if not self._line_side.changing:
            self.change()
        self.reshaping.insert(x, y)

    def typed(self, field: Field, word: str) -> None:
        """A word picked for a field of a form, as if it were typed there."""
        try:
            setup = field.typed(word, self._session.unit)
        except ValueError as error:
            self._window.message.say(str(error))
            return
        if setup is not None:
            self.take(setup, field.step)

    def _hint(self, held: Held | None, pointer: QPointF) -> None:
        """What drawing at what is under the pointer would do."""
        self._dwelt.stop()
        self.attempt.readout.hide()
        if held is None:
            return
        if held.locked:
            self._pointed = held, pointer
            self._dwelt.start()
        elif held.control is not None:
            self.sliding.hint(held.control, False, pointer)
        else:
            self.reshaping.hint(held, pointer)

    def _hint_locked(self) -> None:
        """How what is pointed at could be drawn about; a customer who is looking is not told."""
        if self._pointed is not None and not self._body.alone:
            held, pointer = self._pointed
            self.sliding.hint(str(held.control), True, pointer)

    def _unlock(self, control: str) -> None:
        """The forms, so that a control can be drawn along the bar."""
        if not self._body.alone:
            self.change()
            self.look_at_control(control)

    def show_forms(self) -> None:
        """The setup as it stands, whatever is worked out already."""
        session = self._session
        setup, name = session.setup, session.selected
        self._body.change_side.show_setup(setup, session.unit)
        result, stale = session.result(), session.stale()
        self._body.measure_side.show_setup(setup, session.unit, result, stale, session.failure)
        line = setup.line(name) if name in line_names(setup) and name is not None else None
        self._line_side.change.show_line(setup, line, session.unit, session.station)
        self.show_stations()


def _part(about: Touched) -> Part | None:
    """What of the setup but its lines a step was about; None for nothing of it."""
    if about.control is not None:
        return Part("control", about.control)
    if about.solid is not None:
        return Part("solid", about.solid)
    if about.bars is not None:
        return Part(about.bars)
    return Part("machine") if about.machine else None
