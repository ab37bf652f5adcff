"""What is to be said of no line: a row for each topic, with how it stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from barfit.report.phrases import within
from barfit.report.remarks import Topic
from barfit.report.standing import Standing
from barfit.ui.mark_label import MarkLabel
from barfit.ui.theme import GRID, Theme, Type, font
from barfit.ui.widgets import Button, label

MARK = 16  # px, with the pixel around it that smooths its edge


class TopicRow(Button):
    """One topic: mark, name, count."""

    def __init__(self, topic: Topic, theme: Theme) -> None:
        super().__init__()
        self.setCheckable(True)
        self.setProperty("role", "row")
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        self._topic = topic
        self._mark = MarkLabel(theme, MARK)
        name = label(str(topic))
        self._words = label(step=Type.SMALL, muted=True)
        row = self._row = QHBoxLayout(self)
        row.setContentsMargins(3, 0, GRID - 2, 0)
        row.setSpacing(GRID + 1)
        row.addWidget(self._mark)
        row.addWidget(name, 1)
        row.addWidget(self._words)
        for part in (self._mark, name, self._words):
            part.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)

    def show_standing(self, stands: Standing) -> None:
        """How the topic stands, in a mark and in words."""
        self._mark.show_mark(stands.worst)
        self._words.setText(stands.words())
        self.setAccessibleName(f"{self._topic}: {stands.words()}")

    @property
    def words(self) -> str:
        """What stands beside the name."""
        return self._words.text()

    def sizeHint(self) -> QSize:
        """As high as its words, with some room."""
        return QSize(
            self._row.sizeHint().width(), QFontMetrics(font(Type.BODY)).height() + GRID + 2
        )

    minimumSizeHint = sizeHint


class TopicList(QWidget):
    """The rows. ``picked`` tells the topic the user went to."""

    picked = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self._rows: dict[Topic, TopicRow] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(0)
        self.setAccessibleName("Beyond the lines")
        self.hide()

    def show_topics(self, stands: Mapping[Topic, Standing]) -> None:
        """Show these topics and how each stands."""
        if tuple(stands) != tuple(self._rows):
            for row in self._rows.values():
                row.hide()
                row.deleteLater()
            self._rows = {topic: self._made(topic) for topic in stands}
            for row in self._rows.values():
                self._column.addWidget(row)
        for topic, row in self._rows.items():
            row.show_standing(stands[topic])
        self.setVisible(bool(stands))

    def show_selected(self, topic: Topic | None) -> None:
        """Show which topic is looked at, without telling."""
        for known, row in self._rows.items():
            row.setChecked(known is topic)

    def row(self, topic: Topic) -> TopicRow:
        """The row of a topic. Raises KeyError."""
        return self._rows[topic]

    def topics(self) -> tuple[Topic, ...]:
        """The topics from top to bottom."""
        return tuple(self._rows)

    def _made(self, topic: Topic) -> TopicRow:
        row = TopicRow(topic, self._theme)
        row.setToolTip(f"All figures: {within(str(topic))} (Up, Down)")
        row.clicked.connect(self._picker(topic))
        return row

    def _picker(self, topic: Topic) -> Callable[[], None]:
        def pick() -> None:
            self.show_selected(topic)  # one clicked twice stays picked
            self.picked.emit(topic)

        return pick
