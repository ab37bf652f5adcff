"""What all lines together do to the steering: where it is stopped, and what turns the bar."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget

from barfit.analysis.stops import SteeringStop, steering_stops
from barfit.report.headline import steering_headline
from barfit.report.torque import locks_sentence, torque_sentences
from barfit.session import Result
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import prose


def stops_of(result: Result) -> tuple[SteeringStop, ...]:
    """What stops the steering, to either side."""
    stops = steering_stops(result.findings, result.sweep.setup.lines)
    return tuple(stop for stop in (stops.right, stops.left) if stop is not None)


class SteeringLine(QWidget):
    """Two sentences over the turn strip, whichever line is selected."""

    def __init__(self) -> None:
        super().__init__()
        self._stopped = prose(Type.SMALL)
        self._torque = prose(Type.SMALL, muted=True)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(2 * GRID, 0, 2 * GRID, GRID // 2)
        self._column.setSpacing(2)
        self._column.addWidget(self._stopped)
        self._column.addWidget(self._torque)

    def show_result(self, result: Result | None, unit: str, stale: bool) -> None:
        """Say it of a result; an outdated one is said faintly, without one nothing is said."""
        found = result.findings if result is not None else ()
        stopped = ""
        if result is not None:
            stopped = steering_headline(found, result.remarks(unit), result.sweep.setup)
        self._stopped.setText(stopped)
        self._torque.setText(locks_sentence(found))
        self._torque.setToolTip("\n".join(torque_sentences(found)))
        self.setEnabled(not stale)
        self._keep_height()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The sentences may now break elsewhere."""
        super().resizeEvent(event)
        self._keep_height()

    def _keep_height(self) -> None:
        """A splitter does not ask for the height at a width: without this a sentence of two rows
        pushes the last ribbon out of the window.
        """
        self.setMinimumHeight(max(self._column.heightForWidth(self.width()), 0))  # -1: no text

    @property
    def stopped(self) -> str:
        """The sentence on what stops the steering."""
        return self._stopped.text()

    @property
    def text(self) -> str:
        """Both sentences."""
        return " ".join(filter(None, (self._stopped.text(), self._torque.text())))
