"""The window: puts the parts together, and connects what each tells with what the others do.

What the parts show is kept up by ``mirror.py``, what commands do is in ``deeds.py``, changing the
setup in ``changing.py``.

Invariants:
1. The viewport is made before the window (see viewport.py) and handed in.
2. Closing stops the player, then the worker, then the viewport, and only then the window.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, QTimer, QUrl
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtWidgets import QApplication, QMainWindow, QStyle

from barfit import scenario
from barfit.recovery import Store
from barfit.report.phrases import capital
from barfit.scene.colours import Colour
from barfit.session import Session
from barfit.ui.alternatives import Alternatives
from barfit.ui.autosave import Autosave
from barfit.ui.beginning import Beginning
from barfit.ui.body import Body
from barfit.ui.changing import Changing
from barfit.ui.context import ContextMenu
from barfit.ui.deeds import Deeds
from barfit.ui.disk_watch import DiskWatch
from barfit.ui.documents import Documents
from barfit.ui.file_notice import FileNotice
from barfit.ui.job.desk import Desk
from barfit.ui.left_behind import LeftBehind
from barfit.ui.menus import Commands
from barfit.ui.mirror import Mirror
from barfit.ui.settings import Settings
from barfit.ui.showing import Showing
from barfit.ui.theme import Theme
from barfit.ui.transport import Player
from barfit.ui.worker import Worker

if TYPE_CHECKING:
    from barfit.ui.viewport import Viewport


class Window(QMainWindow):
    """One window on one session."""

    def __init__(
        self,
        session: Session,
        viewport: Viewport,
        worker: Worker,
        theme: Theme,
        settings: Settings,
        store: Store | None = None,
        second: Worker | None = None,
        third: Worker | None = None,
    ) -> None:
        """Unsaved changes are kept in ``store``, without one nowhere. The ``second`` worker judges
        alternatives, the ``third`` turns the setup with everything done; they start nothing before
        that is looked at.
        """
        super().__init__()
        self.session = session
        self.viewport = viewport
        self.worker = worker
        self.theme = theme
        self.settings = settings
        self.player = Player(self)
        self.body = Body(theme, viewport)
        self.message, self.progress = self.body.message, self.body.progress
        self.setup_side, self.line_side = self.body.setup_side, self.body.line_side
        self.transport, self.strip = self.body.transport, self.body.strip
        self.alternatives = Alternatives(self, second if second is not None else Worker())
        self.commands = Commands(self, theme)
        self.documents = Documents(self, session, settings)
        self.disk_watch = DiskWatch(session, self)
        FileNotice(self.body.file_notice, session, self.documents, self.disk_watch)
        self.autosave = Autosave(session, store, self) if store is not None else None
        self._closed = False
        self._leaving = False  # told to end from outside: no question will be answered
        self.setAcceptDrops(True)
        self.setMinimumSize(QSize(960, 600))
        self.setCentralWidget(self.body)
        self.body.setFocus()  # no control looks chosen before one is
        self.mirror, self.deeds = Mirror(self), Deeds(self)
        self.changing = Changing(self)
        self.context = ContextMenu(self)
        self.beginning = Beginning(self)
        self.desk = Desk(self, third if third is not None else Worker())
        self._connect_parts()
        self._connect_session()
        self._fill_menus()
        self._restore()
        self.mirror.show_theme()
        self.mirror.setup_changed()
        self._look_for_left_behind()
        self.showing = Showing(self)

    # putting together

    def _connect_parts(self) -> None:
        session, mirror, deeds = self.session, self.mirror, self.deeds
        self.commands.asked.connect(deeds.do)
        self.commands.file_asked.connect(self.open)
        self.commands.view_picked.connect(self.viewport.view)
        self.commands.colour_picked.connect(mirror.colour_by)
        self.commands.unit_picked.connect(deeds.use_unit)
        self.commands.theme_picked.connect(deeds.use_theme)
        self.commands.type_picked.connect(deeds.use_type)
        self.commands.sort_picked.connect(deeds.sort_lines)
        self.documents.opened.connect(self._document_kept)
        self.documents.begun.connect(self._document_kept)
        self.documents.saved.connect(self._document_kept)
        self.documents.refused.connect(self.message.say)
        self.theme.changed.connect(mirror.show_theme)
        self.player.moved.connect(session.turn_to)
        self.player.playing_changed.connect(self.transport.show_playing)
        self.transport.asked.connect(deeds.do)
        self.transport.speed_picked.connect(deeds.pick_speed)
        self.transport.travel_picked.connect(deeds.pick_travel)
        self.strip.turned.connect(deeds.scrub)
        self.strip.picked.connect(session.select)
        self.strip.worst_asked.connect(deeds.show_worst)
        self.viewport.line_clicked.connect(session.select)
        self.setup_side.bars_picked.connect(session.show_bars)
        self.setup_side.lines.picked.connect(session.select)
        self.setup_side.topics.picked.connect(session.look_at)
        self.setup_side.doubts_asked.connect(mirror.tell_doubts)
        self.setup_side.change_asked.connect(self.changing.change_bars)
        self.line_side.worst_asked.connect(lambda: deeds.do("worst"))
        self.line_side.turned.connect(deeds.scrub)
        self.line_side.pose_asked.connect(deeds.go_to)
        self.body.topic_side.pose_asked.connect(deeds.go_to)
        self.worker.progressed.connect(self._progressed)
        self.worker.finished.connect(session.accept)
        self.worker.failed.connect(session.fail)
        self.worker.looked.connect(self._looking)
        self.worker.found.connect(session.propose_for)
        self.worker.proposed.connect(session.propose)
        self.worker.unproposed.connect(session.no_remedies)
        self.worker.idle.connect(self.progress.hide)

    def _connect_session(self) -> None:
        session, mirror = self.session, self.mirror
        session.opened.connect(mirror.opened)
        session.setup_changed.connect(mirror.setup_changed)
        session.file_changed.connect(mirror.show_changed)
        session.bars_changed.connect(mirror.show_all)
        session.results_changed.connect(mirror.results_changed)
        session.pose_changed.connect(mirror.pose_changed)
        session.selection_changed.connect(mirror.show_selection)
        session.station_changed.connect(self.changing.show_forms)
        session.unit_changed.connect(mirror.show_all)
        session.message.connect(self.message.say)

    def _look_for_left_behind(self) -> None:
        if self.autosave is None:
            return
        self.autosave.refused.connect(self.message.say)
        bar = self.body.left_behind
        left = LeftBehind(self, bar, self.session, self.documents, self.autosave)
        left.refused.connect(self.message.say)
        left.look()

    def _fill_menus(self) -> None:
        examples = [(capital(path.stem.replace("-", " ")), path) for path in scenario.bundled()]
        self.commands.fill_files(self.commands.examples, examples)
        self._fill_recent()
        self.commands.check("Colour by", Colour.SLACK)
        self.commands.check("Appearance", self.theme.choice)
        self.commands.check("Type size", self.settings.type_size)

    def _fill_recent(self) -> None:
        recent = [(str(path), path) for path in self.settings.recent]
        self.commands.fill_files(self.commands.recent, recent)

    def _restore(self) -> None:
        # its frame is only there once it is shown: what the style takes for one is near enough
        metrics = QStyle.PixelMetric
        edge = self.style().pixelMetric(metrics.PM_MdiSubWindowFrameWidth)
        head = self.style().pixelMetric(metrics.PM_TitleBarHeight)
        screen = QGuiApplication.primaryScreen().availableSize()
        self.resize(QSize(1440, 900).boundedTo(screen - QSize(2 * edge, head + 2 * edge)))
        geometry_before = self.settings.load_bytes("window")
        if geometry_before is not None:
            self.restoreGeometry(geometry_before)
        self.body.restore(self.settings, self.width(), self.height())

    # what the user asks for

    def open(self, path: Path) -> None:
        """Open a scenario file; when it cannot be used the message bar says why."""
        self.documents.open(path)

    def do(self, command: str) -> None:
        """Carry out a command of the menus by its name."""
        self.deeds.do(command)

    def _document_kept(self) -> None:
        """A file was opened or saved."""
        self.message.hide()
        self.mirror.tell_doubts()
        self._fill_recent()
        self.mirror.show_changed()

    def _progressed(self, part: float) -> None:
        self.progress.show()
        self.progress.setValue(round(1000 * part))

    def _looking(self, part: float) -> None:
        """Remedies are being looked for: what is shown is whole."""
        self.progress.hide()

    # what Qt tells

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Files may be dropped."""
        if _local_file(event.mimeData().urls()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the first file dropped."""
        path = _local_file(event.mimeData().urls())
        if path is not None:
            event.acceptProposedAction()
            # later: the program it was dragged from waits, and there may be a question to answer
            QTimer.singleShot(0, self, lambda: self.open(path))

    def leave(self) -> None:
        """Close at once and end the program, without asking whether to save: it was told to end.

        What is unsaved is offered at the next start.
        """
        self._leaving = True
        self.close()
        QApplication.quit()  # also where a dialog is open

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop everything that moves, then let the window go."""
        if self._closed:
            super().closeEvent(event)
            return
        if not self._leaving and not self.documents.may_leave():
            event.ignore()
            return
        self._closed = True
        self.showing.leave()
        self.disk_watch.stop()
        if self.autosave is not None:
            self.autosave.stop(keep=self._leaving)
        self.player.pause()
        self.worker.stop()
        self.alternatives.comparer.stop()
        self.desk.stop()
        self.settings.save_bytes("window", self.saveGeometry())
        self.body.keep(self.settings)
        self.viewport.shut()
        super().closeEvent(event)


def _local_file(urls: list[QUrl]) -> Path | None:
    """The first local file among what is dragged."""
    return next((Path(url.toLocalFile()) for url in urls if url.isLocalFile()), None)
