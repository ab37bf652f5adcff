"""What fills the window: setup side, picture over turn strip, line side; and the message bar."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QProgressBar,
    QScrollArea,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from barfit.ui.change_side import ChangeSide
from barfit.ui.folds import Folds
from barfit.ui.line_side import LineSide
from barfit.ui.measure_side import MeasureSide
from barfit.ui.offers import OfferBar
from barfit.ui.settings import Settings
from barfit.ui.setup_side import SetupSide
from barfit.ui.steering_line import SteeringLine
from barfit.ui.strip_frame import height_for, row_usual
from barfit.ui.theme import GRID, Theme
from barfit.ui.topic_side import TopicSide
from barfit.ui.transport import Transport
from barfit.ui.turn_strip import TurnStrip
from barfit.ui.widgets import MessageBar

SIDE_WIDTH = 40 * GRID
USUAL_LINES = 8
STEERING = 5 * GRID  # px for two sentences


class Side(QStackedWidget):
    """Never narrower than its usual width, and wider where larger type needs it."""

    def __init__(self, usual: int) -> None:
        super().__init__()
        self._usual = usual

    def minimumSizeHint(self) -> QSize:
        """What its pages need, or the usual width; pages that scroll, no more than a little
        height.
        """
        least = super().minimumSizeHint().expandedTo(QSize(self._usual, 0))
        for page in (self.widget(at) for at in range(self.count())):
            if isinstance(page, QScrollArea):
                inside = page.widget()
                inner = inside.minimumSizeHint().width() if inside is not None else 0
                bar = page.verticalScrollBar().sizeHint().width()
                least = least.expandedTo(QSize(inner + bar + 2 * page.frameWidth(), 0))
        return least


class Body(QWidget):
    """Makes the parts and lays them out; what they show and do is the window's."""

    def __init__(self, theme: Theme, viewport: QWidget) -> None:
        super().__init__()
        self.alone = False  # whether only the picture is shown
        self._sizes: list[list[int]] = []  # of the splitters meanwhile
        self.message = MessageBar()
        self.left_behind, self.file_notice = OfferBar(), OfferBar()
        self.welcome = OfferBar()
        self.setup_side = SetupSide(theme)
        self.change_side = ChangeSide(theme)
        self.measure_side = MeasureSide(theme)
        self.left = Side(SIDE_WIDTH)
        self.left.addWidget(self.setup_side)
        self.left.addWidget(self.change_side)
        self.left.addWidget(self.measure_side)
        self.folds = Folds()
        self.line_side, self.topic_side = LineSide(theme, self.folds), TopicSide(theme, self.folds)
        self.right = Side(SIDE_WIDTH - GRID)
        self.right.addWidget(self.line_side)
        self.right.addWidget(self.topic_side)
        self.transport = Transport(theme)
        self.steering = SteeringLine()
        self.strip = TurnStrip(theme)
        self.progress = _progress_bar()
        self.under = under = QWidget()
        under.setObjectName("side")
        under.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        _stack(under, self.progress, self.transport, self.steering, self.strip)
        self._middle = _splitter(Qt.Orientation.Vertical, viewport, under)
        self._middle.setStretchFactor(0, 1)
        self._across = _splitter(Qt.Orientation.Horizontal, self.left, self._middle, self.right)
        self._across.setStretchFactor(1, 1)
        self.pages = QStackedWidget()  # the machine, or the job
        self.pages.addWidget(self._across)
        self.told = QWidget()  # what is told keeps its state while all of it is put away
        _stack(self.told, self.message, self.left_behind, self.file_notice, self.welcome)
        _stack(self, self.told, self.pages)

    def show_picture_alone(self, alone: bool) -> None:
        """Put everything but the picture away, or bring it back as it was."""
        self.alone = alone
        if alone:
            self._sizes = [splitter.sizes() for splitter in self._splitters().values()]
        for part in (self.told, self.left, self.right, self.under):
            part.setVisible(not alone)
        if not alone:
            for splitter, sizes in zip(self._splitters().values(), self._sizes, strict=True):
                splitter.setSizes(sizes)

    def restore(self, settings: Settings, width: int, height: int) -> None:
        """Divide a window of that size as it was last, or as it should be at first."""
        self.folds.restore(settings.folds)
        over = self.transport.sizeHint().height() + STEERING
        under = height_for(USUAL_LINES, row_usual()) + over
        self._across.setSizes([SIDE_WIDTH, width - 2 * SIDE_WIDTH, SIDE_WIDTH])
        self._middle.setSizes([height - under, under])
        for name, splitter in self._splitters().items():
            state = settings.load_bytes(name)
            if state is not None:
                splitter.restoreState(state)

    def keep(self, settings: Settings) -> None:
        """Remember how the window is divided."""
        settings.folds = self.folds.words()
        for name, splitter in self._splitters().items():
            settings.save_bytes(name, splitter.saveState())

    def _splitters(self) -> dict[str, QSplitter]:
        return {"across": self._across, "middle": self._middle}


def _progress_bar() -> QProgressBar:
    """A thin bar in thousandths that keeps its place while it is hidden."""
    bar = QProgressBar()
    bar.setTextVisible(False)
    bar.setRange(0, 1000)
    policy = bar.sizePolicy()
    policy.setRetainSizeWhenHidden(True)
    bar.setSizePolicy(policy)
    bar.setAccessibleName("Sweep under way")
    return bar


def _splitter(way: Qt.Orientation, *parts: QWidget) -> QSplitter:
    splitter = QSplitter(way)
    for part in parts:
        splitter.addWidget(part)
    splitter.setHandleWidth(1)
    splitter.setChildrenCollapsible(False)
    return splitter


def _stack(whole: QWidget, *parts: QWidget) -> None:
    """Parts under each other without gaps; the last takes the room."""
    column = QVBoxLayout(whole)
    column.setContentsMargins(0, 0, 0, 0)
    column.setSpacing(0)
    for part in parts:
        column.addWidget(part, int(part is parts[-1]))
