"""What lies over the picture while it is shown to a customer: big type, a turn, and a counter."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QWheelEvent
from PySide6.QtWidgets import (
    QApplication,
    QFrame,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from barfit.analysis import Verdict
from barfit.report.phrases import within
from barfit.report.slides import Slide
from barfit.ui.icons import Worn
from barfit.ui.marks import draw_mark, draw_refused
from barfit.ui.theme import GRID, Theme, show_scale
from barfit.ui.turn_line import TurnLine
from barfit.ui.widgets import Button, label
from barfit.ui.words import typeset

CARD = 0.36  # of the width
PAPER = 240  # of 255: how much of what is behind the words is covered
STEPS = {"small": 1.05, "body": 1.25, "lead": 1.6, "head": 2.7, "title": 1.75}
LEAST = 0.45  # of the size of type, where the words need more room than there is

_TAKES = {True: ("lead", QFont.Weight.DemiBold), False: ("body", QFont.Weight.Normal)}

KEYS = {
    Qt.Key.Key_Escape: "leave",
    Qt.Key.Key_F5: "leave",
    Qt.Key.Key_Right: "next",
    Qt.Key.Key_PageDown: "next",
    Qt.Key.Key_Down: "next",
    Qt.Key.Key_Left: "previous",
    Qt.Key.Key_PageUp: "previous",
    Qt.Key.Key_Up: "previous",
    Qt.Key.Key_Home: "first",
    Qt.Key.Key_End: "last",
    Qt.Key.Key_Space: "play",
}


class SlideMark(QWidget):
    """The mark of a slide: a verdict's own, or that of bars that are refused."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.verdict: Verdict | None = None

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it."""
        colours = self._theme.colours
        painter = QPainter(self)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        ground = QColor(colours.panel)
        if self.verdict is None:
            draw_refused(painter, box, QColor(colours.bad), ground)
        else:
            draw_mark(painter, self.verdict, box, QColor(colours.verdict(self.verdict)), ground)
        painter.end()


class Show(QWidget):
    """Lies over ``picture`` and fills it. ``asked`` names what to do: next, previous, first, last,
    play, leave; ``dragged`` and ``zoomed`` tell how the picture is to be turned (px) and brought
    nearer (notches of a wheel). It takes every key, so that nothing is edited meanwhile.
    """

    asked = Signal(str)
    dragged = Signal(float, float)
    zoomed = Signal(float)

    def __init__(self, theme: Theme, picture: QWidget) -> None:
        super().__init__(picture)
        self._theme = theme
        self._picture = picture
        self._held: QPointF | None = None
        self.slide: Slide | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._machine, self._bars = _words(), _words(muted=True)
        self._mark = SlideMark(theme)
        self._word, self._heading = _words(), _words()
        self._sentence, self._takes = _words(), _words()
        self._doubt, self._caution = _words(muted=True), _words(muted=True)
        self.counter = label(muted=True)
        self._back, self._on = (
            _arrow("previous", "Previous finding", "Left", theme),
            _arrow("next", "Next finding", "Right", theme),
        )
        self._back.clicked.connect(lambda: self.asked.emit("previous"))
        self._on.clicked.connect(lambda: self.asked.emit("next"))
        self._ends = label("Esc ends the show", muted=True)
        self.turn = TurnLine(theme)
        self._lay_out()
        theme.changed.connect(self._colour)
        picture.installEventFilter(self)
        self._colour()
        self.hide()

    def _lay_out(self) -> None:
        self._top, self._card, self._caution_box = QFrame(), QFrame(), QFrame()
        for frame in (self._top, self._card):
            frame.setObjectName("paper")
        self._caution_box.setObjectName("caution")
        top = QVBoxLayout(self._top)
        top.addWidget(self._machine)
        top.addWidget(self._bars)
        framed = QVBoxLayout(self._caution_box)
        framed.setContentsMargins(GRID + 4, 0, 0, 0)
        framed.addWidget(self._caution)
        verdict = QHBoxLayout()
        verdict.setSpacing(GRID + 4)
        verdict.addWidget(self._mark)
        verdict.addWidget(self._word, 1)
        card = QVBoxLayout(self._card)
        card.setSpacing(2 * GRID)
        card.addLayout(verdict)
        for widget in (
            self._heading,
            self._sentence,
            self._takes,
            self._doubt,
            self._caution_box,
        ):
            card.addWidget(widget)
        self._count = QFrame()
        self._count.setObjectName("paper")
        count = QHBoxLayout(self._count)
        count.setContentsMargins(GRID, GRID // 2, GRID, GRID // 2)
        count.addWidget(self._back)
        count.addWidget(self.counter)
        count.addWidget(self._on)
        count.addSpacing(GRID)
        count.addWidget(self._ends)
        self._under = QFrame()
        self._under.setObjectName("paper")
        under = QVBoxLayout(self._under)
        under.setContentsMargins(2 * GRID, GRID, 2 * GRID, GRID)
        under.addWidget(self.turn)
        left = QVBoxLayout()
        left.addWidget(self._top)
        left.addStretch(1)
        left.addWidget(self._card)
        right = QVBoxLayout()
        over = QHBoxLayout()
        over.addStretch(1)
        over.addWidget(self._count, 0, Qt.AlignmentFlag.AlignTop)
        right.addLayout(over)
        right.addStretch(1)
        right.addWidget(self._under)
        row = QHBoxLayout(self)
        row.setContentsMargins(4 * GRID, 4 * GRID, 4 * GRID, 4 * GRID)
        row.setSpacing(4 * GRID)
        row.addLayout(left)
        row.addLayout(right, 1)

    # what it shows

    def show_machine(self, machine: str, bars: str) -> None:
        """Whose picture it is."""
        self._machine.setText(machine)
        self._bars.setText(bars)

    def show_slide(self, slide: Slide, number: int, of: int) -> None:
        """A slide, and the how manieth finding it is; the one that sums up is number 0."""
        self.slide = slide
        self._word.setText(slide.word)
        for widget in (self._mark, self._word):
            widget.setVisible(bool(slide.word))
        self._mark.verdict = slide.verdict
        self._mark.update()
        self._heading.setText(slide.heading)
        for words, text in (
            (self._sentence, slide.sentence),
            (self._takes, slide.takes),
            (self._doubt, slide.doubt),
            (self._caution, slide.caution),
        ):
            words.setText(typeset(text))
            words.setVisible(bool(text))
        self._caution_box.setVisible(bool(slide.caution))
        if slide.verdict is not None and slide.takes:  # a hint is a sentence of its own
            self._takes.setText(typeset(f"It takes: {within(slide.takes)}"))
        findings = "1 finding" if of == 1 else f"{of} findings"
        self.counter.setText(f"{number} of {of}" if number else findings)
        for part in (self._back, self.counter, self._on):
            part.setVisible(of > 0)
        self._back.setEnabled(number > 0)
        self._on.setEnabled(number < of)
        rest = (self._takes.text() if slide.takes else "", slide.doubt, slide.caution)
        spoken = (slide.word, slide.heading, slide.sentence, *rest)
        self.setAccessibleName(". ".join(text.rstrip(".") for text in spoken if text))
        self.turn.show_worst(slide.turn, self._colour_of(slide))
        self._colour()
        self._fit()

    @property
    def texts(self) -> tuple[str, ...]:
        """All that can be read now."""
        return tuple(
            words.text()
            for words in self.findChildren(QLabel)
            if words.isVisibleTo(self) and words.text()
        )

    @property
    def free(self) -> tuple[float, float, float, float]:
        """The shares of the picture that the words take at the left, right, bottom and top."""
        width, height = max(self.width(), 1), max(self.height(), 1)
        under = self._under.height() + 5 * GRID
        return (CARD + 6 * GRID / width, 0.03, under / height, 0.03)

    # its looks

    def _colour_of(self, slide: Slide | None) -> str:
        colours = self._theme.colours
        if slide is None or not slide.word:
            return colours.accent
        return colours.bad if slide.verdict is None else colours.verdict(slide.verdict)

    def _colour(self) -> None:
        c = self._theme.colours
        paper = QColor(c.panel)
        tint = f"rgba({paper.red()}, {paper.green()}, {paper.blue()}, {PAPER})"
        edge = self._colour_of(self.slide)
        self.setStyleSheet(
            f"""QFrame#paper {{ background: {tint}; border: 0; border-radius: 10px; }}
            QLabel#takes {{ color: {c.text}; }}"""
        )
        self._card.setStyleSheet(
            f"QFrame#paper {{ background: {tint}; border: 0; border-radius: 10px; "
            f"border-left: 6px solid {edge}; border-top-left-radius: 0; "
            "border-bottom-left-radius: 0; }"
        )

    def _fit(self) -> None:
        """Type as large as the window asks for, or as its words leave room for."""
        size = show_scale(self.width(), self.height())
        card = round(CARD * self.width())
        for frame in (self._top, self._card):
            frame.setFixedWidth(card)
        room = self.height() - 11 * GRID
        factor = size
        while True:
            self._set_fonts(factor)
            pad = round(2.5 * GRID * factor)
            for frame in (self._top, self._card):
                layout = frame.layout()
                assert layout is not None
                layout.setContentsMargins(pad, pad, pad, pad)
                layout.invalidate()
            tall = self._top.heightForWidth(card) + self._card.heightForWidth(card)
            if tall <= room or factor <= LEAST * size:
                break
            factor *= 0.94

    def _set_fonts(self, factor: float) -> None:
        for words, step, weight in (
            (self._machine, "title", QFont.Weight.DemiBold),
            (self._bars, "body", QFont.Weight.Normal),
            (self._word, "lead", QFont.Weight.DemiBold),
            (self._heading, "head", QFont.Weight.Bold),
            (self._sentence, "lead", QFont.Weight.Normal),
            (self._takes, *_TAKES[bool(self.slide and self.slide.word)]),
            (self._doubt, "body", QFont.Weight.Normal),
            (self._caution, "small", QFont.Weight.Normal),
            (self.counter, "body", QFont.Weight.Normal),
            (self._back, "lead", QFont.Weight.Normal),
            (self._on, "lead", QFont.Weight.Normal),
            (self._ends, "small", QFont.Weight.Normal),
            (self.turn, "lead", QFont.Weight.DemiBold),
        ):
            font = QFont(QApplication.font())
            font.setPointSizeF(font.pointSizeF() * STEPS[step] * factor)
            font.setWeight(weight)
            words.setFont(font)
        side = round(1.5 * self._word.fontMetrics().height())
        self._mark.setFixedSize(side, side)
        tall = self.counter.fontMetrics().height()
        for arrow in (self._back, self._on):
            arrow.setIconSize(QSize(tall, tall))
        self.turn.updateGeometry()

    # what Qt tells

    def open(self) -> None:
        """Lie over the picture and take the keys."""
        self.setGeometry(self._picture.rect())
        self.show()
        self.raise_()
        self.setFocus()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Go with the picture's size."""
        if event.type() == QEvent.Type.Resize and self.isVisible():
            self.setGeometry(self._picture.rect())
            self._fit()
        return False

    def event(self, event: QEvent) -> bool:
        """Claim every key before it is taken for one of the window's shortcuts."""
        if event.type() == QEvent.Type.ShortcutOverride:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Its own keys; all others do nothing."""
        command = KEYS.get(Qt.Key(event.key()))
        if command is not None:
            self.asked.emit(command)
        event.accept()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """The picture is turned by dragging; nothing in it can be taken hold of."""
        self._held = event.position()
        self.setFocus()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Turn the picture."""
        if self._held is not None and event.buttons() is not Qt.MouseButton.NoButton:
            by = event.position() - self._held
            self._held = event.position()
            self.dragged.emit(by.x(), by.y())

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Let go."""
        self._held = None

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Come nearer or go back."""
        self.zoomed.emit(event.angleDelta().y() / 120)
        event.accept()


def _words(muted: bool = False) -> QLabel:
    made = label(muted=muted)
    made.setWordWrap(True)
    made.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return made


def _arrow(sign: str, name: str, key: str, theme: Theme) -> Button:
    made = Button()
    Worn(made, sign, theme, "accent")
    made.setProperty("role", "quiet")
    made.setAccessibleName(name)
    made.setToolTip(f"{name} ({key})")
    return made
