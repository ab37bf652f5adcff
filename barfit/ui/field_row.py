"""One field on screen: its label, what is typed, and under it why that cannot be, if it cannot.

Lengths and angles stand beside their label, in one column with the others. What needs more room,
words of one's own and long choices, stands under it over the whole width.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QComboBox, QCompleter, QGridLayout, QLineEdit, QWidget

from barfit.forms import Field
from barfit.report.phrases import capital
from barfit.scenario.job import ClosedDays, Weekdays
from barfit.scenario.values import Words
from barfit.ui.theme import GRID, Type, font
from barfit.ui.widgets import Choices, label, prose, reveal

WORDS: Mapping[str, str] = {"true": "yes", "false": "no"}
EDITOR = 14  # digits, unless a form has room for more
LABEL = 2.5  # lines of words that may stand beside an editor


class FieldRow(QWidget):
    """A field. ``entered`` asks for what was typed; ``confirmed`` tells that what is in the setup
    was typed or picked again; ``focused`` tells that it is being looked at.

    Whoever hears ``entered`` answers with ``refuse`` or shows the changed field. What was typed
    stays until then, whatever else happens. Esc takes it back.
    """

    entered = Signal(object, str)
    confirmed = Signal(object)
    focused = Signal(object)

    def __init__(self, field: Field, unit: str, digits: int = EDITOR) -> None:
        """``digits`` is how wide an editor beside its label is."""
        super().__init__()
        self._field, self._unit, self._digits = field, unit, digits
        self._typing = False  # something was typed that is not in the setup
        self._label = label(muted=True)
        self._label.setWordWrap(True)
        self._why = prose(Type.SMALL)
        self._why.setProperty("wrong", True)
        self._why.hide()
        self._edit: QLineEdit | QComboBox = Choices() if field.choices else QLineEdit()
        self._words = Choices() if field.suggestions else None
        if self._words is not None:
            self._edit = self._offer(self._words, field)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(GRID)
        self._grid.setVerticalSpacing(2)
        self._grid.setColumnStretch(0, 1)
        self._grid.addWidget(self._why, 2, 0, 1, 2)
        self._under: bool | None = None  # whether the editor stands under its label
        if isinstance(self._edit, QComboBox):
            self._edit.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self._edit.activated.connect(lambda _: self._enter())
        else:
            self._edit.editingFinished.connect(self._enter)
            self._edit.textEdited.connect(self._typed)
            self._edit.returnPressed.connect(self._confirm)
        self._edit.installEventFilter(self)
        self.show_field(field, unit)

    @property
    def field(self) -> Field:
        """The field as it stands in the setup."""
        return self._field

    @property
    def editor(self) -> QLineEdit | QComboBox:
        """Where it is typed or chosen."""
        return self._edit

    @property
    def box(self) -> QWidget:
        """What the keys go to: the editor, or the list it is part of."""
        return self._words or self._edit

    def has_focus(self) -> bool:
        """Whether the keys go to it."""
        return self._edit.hasFocus() or self.box.hasFocus()

    @property
    def typed(self) -> str:
        """What stands in its editor."""
        edit = self._edit
        return edit.text().strip() if isinstance(edit, QLineEdit) else str(edit.currentData())

    @property
    def refusal(self) -> str:
        """Why what is typed cannot be; "" where it can."""
        return self._why.text() if self._why.isVisibleTo(self) else ""

    def show_field(self, field: Field, unit: str) -> None:
        """The field as it is now. What was typed and refused, or is being typed, stays."""
        self._field, self._unit = field, unit
        self._label.setText(field.label)
        beside = field.other_unit(unit)
        tip = "\n".join(filter(None, (field.tip, f"= {beside}" if beside else "")))
        for widget in (self._label, self._edit):
            widget.setToolTip(tip)
        self._edit.setAccessibleName(field.label)
        self._edit.setAccessibleDescription(field.tip)
        if isinstance(self._edit, QComboBox):
            self._fill_choices(self._edit)
            self._arrange()
            return
        self._edit.setPlaceholderText(field.fallback)
        self._arrange()
        if not self._typing and self._edit.text() != field.text(unit):
            self._edit.setText(field.text(unit))
            self._edit.setCursorPosition(0)

    def _arrange(self) -> None:
        """The editor beside its label where there is room for both, otherwise under it. What is in
        it does not count: it would change its place when it is filled.
        """
        metrics, edit = QFontMetrics(font(Type.BODY)), self._edit
        beside = self._digits * metrics.horizontalAdvance("0")
        shown = [self._field.fallback]
        if isinstance(edit, QComboBox):
            shown += [edit.itemText(row) for row in range(edit.count())]
        elif self._words is not None:
            shown += self._field.suggestions
        arrow = 4 * GRID if isinstance(self.box, QComboBox) else 2 * GRID
        words = max(metrics.horizontalAdvance(text) for text in shown) + arrow
        room = max(self.width(), self.minimumWidth()) - beside - GRID
        crowded = metrics.horizontalAdvance(self._field.label) > LABEL * room
        under = (
            (self._digits <= EDITOR and isinstance(self._field.reader, _LONG))
            or words > beside
            or crowded
        )
        if under is self._under:
            return
        self._under = under
        for widget in (self._label, self.box):
            self._grid.removeWidget(widget)
        if under:
            self.box.setMinimumWidth(0)
            self.box.setMaximumWidth(_ANY)
            self._grid.addWidget(self._label, 0, 0, 1, 2)
            self._grid.addWidget(self.box, 1, 0, 1, 2)
        else:
            self.box.setFixedWidth(beside)
            self._grid.addWidget(self._label, 0, 0)
            self._grid.addWidget(self.box, 0, 1)
        self._keep_height()

    def _offer(self, box: Choices, field: Field) -> QLineEdit:
        """A list of words beside which something of one's own may be typed."""
        box.setEditable(True)
        box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        completer = box.completer()
        assert completer is not None
        completer.setCompletionMode(QCompleter.CompletionMode.PopupCompletion)  # not as one types
        box.addItems(list(field.suggestions))
        box.setCurrentIndex(-1)
        box.setAccessibleName(field.label)
        box.installEventFilter(self)
        edit = box.lineEdit()
        assert edit is not None
        box.activated.connect(lambda _: self._enter())
        return edit

    def refuse(self, why: str) -> None:
        """Say why what is typed cannot be."""
        self._why.setText(capital(why).rstrip(".") + ".")
        self._why.show()
        self._set_wrong(True)
        self._tone(wrong=True)
        self._keep_height()
        QTimer.singleShot(0, self, self._reveal)  # once it has its place

    def resizeEvent(self, event: QResizeEvent) -> None:
        """There may be room now, or no longer; a reason of more lines is still to be seen."""
        super().resizeEvent(event)
        self._arrange()
        self._keep_height()
        if self.refusal and event.size().height() > event.oldSize().height():
            QTimer.singleShot(0, self, self._reveal)

    def _keep_height(self) -> None:
        """As high as it is with its words broken at this width: what it stands in counts one line
        for them and would squeeze the editor.
        """
        self._grid.invalidate()
        high = self._grid.totalHeightForWidth(self.width())
        self.setMinimumHeight(max(high, self._grid.totalMinimumSize().height()))

    def _reveal(self) -> None:
        """Scroll the form so far that the whole row is in sight, its reason too."""
        reveal(self)

    def wait(self, words: str) -> None:
        """Say what is still missing for what is typed to count, which stays; "" says nothing."""
        self._why.setText(words)
        self._why.setVisible(bool(words))
        self._set_wrong(False)
        self._tone(wrong=False)
        self._keep_height()

    def accept(self) -> None:
        """What was typed is in the setup now."""
        self._typing = False
        self._why.hide()
        self._why.setText("")
        self._set_wrong(False)
        self._keep_height()
        self.show_field(self._field, self._unit)

    def take_back(self) -> None:
        """Show the field as it stands in the setup, whatever was typed."""
        self.accept()
        if isinstance(self._edit, QLineEdit):
            self._edit.selectAll()

    def commit(self) -> None:
        """Ask for what was typed and not yet entered, as leaving the field would."""
        if isinstance(self._edit, QLineEdit) and self._typing:
            self._enter()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Focus brings out its dimension, Esc takes back what was typed."""
        if event.type() == QEvent.Type.FocusIn:
            self.focused.emit(self._field)
            if isinstance(event, QFocusEvent) and event.reason() in _BY_KEYS:
                QTimer.singleShot(0, self, self._reveal)  # once a reason above has its place
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            if self._is_for_the_setup(event):
                event.ignore()
                return True
            if event.key() == Qt.Key.Key_Escape and self._differs():
                event.accept()
                return True
            if isinstance(self._edit, QComboBox) and event.key() in _CHOOSING:
                event.accept()
                return True
        if (
            event.type() == QEvent.Type.KeyPress
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and self._differs()
        ):
            self.take_back()
            return True
        if event.type() == QEvent.Type.Wheel and isinstance(watched, QComboBox):
            event.ignore()  # scrolling the form must not change what it passes over
            return True
        return False

    def _is_for_the_setup(self, event: QKeyEvent) -> bool:
        """Whether a key undoes or redoes a step of the setup: where nothing is typed that is not in
        it, an editor would take the key and do nothing, or take back what counts already.
        """
        edit = self._edit
        if not isinstance(edit, QLineEdit) or self._differs():
            return False
        redo = event.matches(QKeySequence.StandardKey.Redo) and not edit.isRedoAvailable()
        return redo or event.matches(QKeySequence.StandardKey.Undo)

    def _typed(self) -> None:
        self._typing = True

    def _differs(self) -> bool:
        edit = self._edit
        return isinstance(edit, QLineEdit) and edit.text() != self._field.text(self._unit)

    def _confirm(self) -> None:
        """Return, on what is in the setup already."""
        if not self._differs():
            self.confirmed.emit(self)

    def _enter(self) -> None:
        edit = self._edit
        text = edit.currentData() if isinstance(edit, QComboBox) else edit.text()
        if text.strip() == self._field.text(self._unit):
            again = self._typing or isinstance(edit, QComboBox)
            self.accept()
            if again:
                self.confirmed.emit(self)
            return
        self.entered.emit(self, text)

    def _fill_choices(self, box: QComboBox) -> None:
        words = list(self._field.choices)
        if self._field.optional:
            words.insert(0, "")
        if [box.itemData(row) for row in range(box.count())] != words:
            box.clear()
            for word in words:
                known = self._field.shown.get(word) or WORDS.get(word, word.replace("_", " "))
                box.addItem(capital(known or self._field.fallback or "–"), word)
            wide = QFontMetrics(box.font())
            shown = [box.itemText(row) for row in range(box.count())]
            room = max(wide.horizontalAdvance(one) for one in shown) + 4 * GRID
            box.view().setMinimumWidth(room)  # the list may be wider than the box
        box.setCurrentIndex(words.index(self._field.text(self._unit)))

    def _tone(self, wrong: bool) -> None:
        """What is said under the editor: why not, or what is still to come."""
        self._why.setProperty("wrong", wrong)
        self._why.setProperty("muted", not wrong)
        self._why.style().unpolish(self._why)
        self._why.style().polish(self._why)

    def _set_wrong(self, wrong: bool) -> None:
        self._edit.setProperty("wrong", wrong)
        self._edit.style().unpolish(self._edit)
        self._edit.style().polish(self._edit)


_BY_KEYS = frozenset({Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason})
_LONG = Words | Weekdays | ClosedDays  # words of one's own
_ANY = 16777215  # px, Qt's own for no limit
_CHOOSING = frozenset(
    {Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Space, Qt.Key.Key_Home, Qt.Key.Key_End}
)
