"""The few widgets that more than one part of the window is made of."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QElapsedTimer, QEvent, QPointF, Qt, Signal
from PySide6.QtGui import (
    QKeyEvent,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QShortcut,
)
from PySide6.QtWidgets import (
    QApplication,
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QStyle,
    QStyleOptionButton,
    QStyleOptionComboBox,
    QStylePainter,
    QWidget,
)

from barfit.ui.theme import GRID, Type, font


def label(text: str = "", step: Type = Type.BODY, muted: bool = False) -> QLabel:
    """A label at one step of the type scale."""
    made = QLabel(text)
    made.setFont(font(step))
    made.setProperty("muted", muted)
    made.setTextFormat(Qt.TextFormat.PlainText)
    return made


def prose(step: Type = Type.BODY, muted: bool = False) -> QLabel:
    """A label whose text wraps and can be copied."""
    made = label(step=step, muted=muted)
    made.setWordWrap(True)
    made.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
    return made


def rule() -> QFrame:
    """A thin line between two parts."""
    made = QFrame()
    made.setObjectName("rule")
    return made


def scrolled_side(area: QScrollArea) -> QWidget:
    """Let an area scroll up and down alone; gives the side that it holds, to be filled."""
    area.setWidgetResizable(True)
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    side = QWidget()
    side.setObjectName("side")
    side.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
    area.setWidget(side)
    return side


def reveal(widget: QWidget) -> None:
    """Scroll what holds a widget so far that the whole of it is in sight."""
    parent = widget.parentWidget()
    while parent is not None and not isinstance(parent, QScrollArea):
        parent = parent.parentWidget()
    if parent is not None:
        parent.ensureWidgetVisible(widget, 0, GRID)


class TakesKeys:
    """For a widget whose keys are also the window's own: with the keyboard on it, it takes them."""

    taken = frozenset({Qt.Key.Key_Space})

    def event(self, event: QEvent) -> bool:
        """Claim its keys before they are taken for the window's shortcuts."""
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() in self.taken
        ):
            event.accept()
            return True
        return bool(super().event(event))  # type: ignore[misc]


class Tick(TakesKeys, QCheckBox):
    """A box to tick."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """The box; then its tick, which a style sheet could only take from a file."""
        super().paintEvent(event)
        if not self.isChecked():
            return
        option = QStyleOptionButton()
        self.initStyleOption(option)
        box = self.style().subElementRect(QStyle.SubElement.SE_CheckBoxIndicator, option, self)
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().highlightedText(), 2.0))
        side = box.width()
        painter.drawPolyline(
            [
                QPointF(box.x() + across * side, box.y() + down * side)
                for across, down in ((0.24, 0.52), (0.44, 0.72), (0.78, 0.30))
            ]
        )


class Option(TakesKeys, QRadioButton):
    """One of several; the arrows go from one to the next."""

    taken = frozenset(
        {Qt.Key.Key_Space, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right}
    )


class Button(TakesKeys, QPushButton):
    """A push button that is pressed by Space only when Tab led to it.

    Space, the arrows, Home and End are the window's own keys; a button that was clicked leaves
    them alone. Reached by Tab, it takes Space and, in a switch, the arrows.
    """

    def __init__(self, text: str = "") -> None:
        super().__init__(text)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)


_POPUP_FRAME = 3  # px, border and padding of the list by the style sheet, and a pixel to spare


class Choices(QComboBox):
    """A list to pick one from, with an arrow in the colour of its text.

    With the keyboard on it, letters and the keys that go about in it are its own.
    """

    _KEYS = frozenset(
        {Qt.Key.Key_Home, Qt.Key.Key_End, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Space}
    )

    def event(self, event: QEvent) -> bool:
        """Claim its keys before they are taken for the window's shortcuts."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            plain = not event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier
            letter = bool(event.text()) and event.text().isprintable()
            if plain and (letter or event.key() in self._KEYS):
                event.accept()
                return True
        return bool(super().event(event))

    def showPopup(self) -> None:
        """The list as high as its entries, as far as the screen has room: Qt leaves out the frame
        that a style sheet draws round them, and the last would be cut in half.
        """
        super().showPopup()
        view = self.view()
        rows = min(self.count(), self.maxVisibleItems())
        high = sum(view.sizeHintForRow(row) for row in range(rows))
        around = view.contentsMargins()
        whole = view.window()
        room = whole.screen().availableGeometry()
        frame = around.top() + around.bottom() + 2 * _POPUP_FRAME
        if whole.height() >= high + frame or high + frame > room.height():
            return
        top = min(whole.y(), room.bottom() + 1 - high - frame)
        whole.setGeometry(whole.x(), top, whole.width(), high + frame)
        view.scrollTo(view.currentIndex())

    def paintEvent(self, event: QPaintEvent) -> None:
        """The box with as much of its words as there is room for; then the arrow, which a style
        sheet could only take from a file.
        """
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        room = self.width() - 4 * GRID
        words = option.currentText.strip()
        option.currentText = self.fontMetrics().elidedText(words, Qt.TextElideMode.ElideRight, room)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        pen = QPen(self.palette().placeholderText().color(), 1.6)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        painter.setPen(pen)
        x, y = self.width() - 1.6 * GRID, 0.5 * self.height() - 1.5
        painter.drawPolyline([QPointF(x - 4, y), QPointF(x, y + 4), QPointF(x + 4, y)])
        painter.end()


_COMMANDS = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.AltModifier
_FLAGS = Qt.ItemDataRole.UserRole - 1  # where Qt's own model keeps what can be done with an item


class GroupedChoices(Choices):
    """Choices under headings, which cannot be picked themselves."""

    def __init__(self) -> None:
        super().__init__()
        self._typed, self._since = "", QElapsedTimer()
        self._since.start()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Letters lead to the next choice whose words begin with them; Home and End to the first
        and the last that can be picked.
        """
        if event.key() in (Qt.Key.Key_Home, Qt.Key.Key_End):
            rows = [row for row in range(self.count()) if self.itemData(row) is not None]
            self._pick(rows[0 if event.key() == Qt.Key.Key_Home else -1])
            return
        letter = event.text().lower()
        if self._since.elapsed() > QApplication.keyboardInputInterval():
            self._typed = ""
        within = letter.strip() or (letter == " " and self._typed)  # or the list is to open
        if not letter.isprintable() or not within or event.modifiers() & _COMMANDS:
            super().keyPressEvent(event)
            return
        self._since.restart()
        self._typed += letter
        first = self.currentIndex() + (len(self._typed) == 1)  # a first letter goes on to the next
        for row in (at % self.count() for at in range(first, first + self.count())):
            words = self.itemText(row).strip().lower()
            if self.itemData(row) is not None and words.startswith(self._typed):
                self._pick(row)
                return

    def _pick(self, row: int) -> None:
        if row != self.currentIndex():
            self.setCurrentIndex(row)
            self.activated.emit(row)

    def show_parts(self, parts: Sequence[tuple[str, str, object]]) -> None:
        """``parts`` are (heading, words, value), those of one heading in a row."""
        shown = [self.itemData(row) for row in range(self.count())]
        if [value for value in shown if value is not None] == [value for *_, value in parts]:
            return
        self.clear()
        heading = ""
        for group, words, value in parts:
            if group != heading:
                heading = group
                self.addItem(group)
                at = self.count() - 1
                self.setItemData(at, font(Type.SMALL), Qt.ItemDataRole.FontRole)
                self.setItemData(at, 0, _FLAGS)
            self.addItem(f"   {words}", value)

    def show_value(self, value: object) -> None:
        """Show which is picked, without telling."""
        values = [self.itemData(row) for row in range(self.count())]
        self.setCurrentIndex(values.index(value))


def on_escape(whole: QWidget, done: Callable[[], None]) -> None:
    """Esc, wherever within it the keys go, asks for ``done``."""
    keys = QShortcut(QKeySequence(Qt.Key.Key_Escape), whole)
    keys.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
    keys.activated.connect(done)


class SegmentButton(Button):
    """One word of a switch."""

    taken = frozenset({Qt.Key.Key_Space, Qt.Key.Key_Left, Qt.Key.Key_Right})


class Segments(QWidget):
    """A switch of a few words side by side, one of which is on. ``picked`` tells its value."""

    picked = Signal(object)

    def __init__(
        self, choices: Sequence[tuple[str, object, str]], name: str, main: bool = False
    ) -> None:
        """``choices`` are (word, value, tooltip); ``main`` draws the one in the accent."""
        super().__init__()
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.setObjectName("segments")
        self.setAccessibleName(name)
        row = QHBoxLayout(self)
        row.setContentsMargins(2, 2, 2, 2)
        row.setSpacing(2)
        inner: QWidget = self
        if main:
            inner = QWidget()
            inner.setObjectName("choice")
            row.addWidget(inner)
            row = QHBoxLayout(inner)
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(2)
        self._group = QButtonGroup(self)
        self._values = [value for _, value, _ in choices]
        for index, (word, _, tip) in enumerate(choices):
            button = SegmentButton(word)
            button.setCheckable(True)
            button.setProperty("role", "segment")
            button.setToolTip(tip)
            button.setAccessibleName(f"{name}: {word}")
            button.setCursor(Qt.CursorShape.PointingHandCursor)
            self._group.addButton(button, index)
            row.addWidget(button, 1)
        self._group.idClicked.connect(self._clicked)

    def show_value(self, value: object) -> None:
        """Switch to a value without telling."""
        self._group.button(self._values.index(value)).setChecked(True)

    def button(self, value: object) -> QPushButton:
        """The button of a value."""
        button = self._group.button(self._values.index(value))
        assert isinstance(button, QPushButton)
        return button

    def _clicked(self, index: int) -> None:
        self.picked.emit(self._values[index])


class MessageBar(QFrame):
    """What is to be said, across the top of the window, until it is dismissed or more comes.

    A long list scrolls: it never takes more than a part of the window.
    """

    MOST = 0.3  # of the window's height

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("message")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._text = prose()
        self._text.setObjectName("message")
        self._scroll = QScrollArea()
        self._scroll.setWidget(self._text)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.viewport().setObjectName("message")
        dismiss = Button("Dismiss")
        dismiss.clicked.connect(self.hide)
        row = QHBoxLayout(self)
        row.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        row.setSpacing(2 * GRID)
        row.addWidget(self._scroll, 1)
        row.addWidget(dismiss, 0, Qt.AlignmentFlag.AlignTop)
        self._least = dismiss.sizeHint().height()
        self.hide()

    @property
    def text(self) -> str:
        """What was last shown."""
        return self._text.text()

    def say(self, words: str) -> None:
        """Show these words, one or more lines of them."""
        self._text.setText(words)
        self._scroll.verticalScrollBar().setValue(0)
        self.show()
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The words may now break elsewhere."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        """As high as the words, but no more than a part of the window."""
        width = self._scroll.viewport().width()
        words = max(self._text.heightForWidth(width), 0)
        most = round(self.MOST * self.window().height())
        self._scroll.setFixedHeight(max(min(words, most), self._least))
