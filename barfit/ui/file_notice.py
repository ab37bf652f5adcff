"""Says in a bar that the session's file is not what it was, and offers what can be done."""

from __future__ import annotations

from PySide6.QtCore import QObject

from barfit.scenario import OnDisk
from barfit.session import Session
from barfit.ui.disk_watch import DiskWatch
from barfit.ui.documents import Documents
from barfit.ui.offers import Choice, Offer, OfferBar


class FileNotice(QObject):
    """Keeps a bar showing what has become of the file."""

    def __init__(
        self, bar: OfferBar, session: Session, documents: Documents, watch: DiskWatch
    ) -> None:
        super().__init__(bar)
        self._bar = bar
        self._session = session
        self._documents = documents
        self._watch = watch
        session.file_changed.connect(self._show)

    def _show(self) -> None:
        session = self._session
        told: dict[OnDisk, tuple[str, tuple[Choice, ...]]] = {
            OnDisk.CHANGED: (
                "was changed by another program. Reading it again can be undone.",
                (
                    Choice("Read it again", session.read_again, "Show what the file holds now"),
                    Choice("Keep mine", session.keep_mine, "Saving will write over the file"),
                ),
            ),
            OnDisk.GONE: (
                "is no longer there: deleted, moved or renamed. What you see is in no file now.",
                (
                    Choice("Save it again", self._documents.save),
                    Choice("Save as…", self._documents.save_as),
                    Choice("Dismiss", self._bar.hide),
                ),
            ),
            OnDisk.UNREADABLE: (
                "can no longer be read, so whether another program changes it is not noticed.",
                (Choice("Look again", self._watch.look), Choice("Dismiss", self._bar.hide)),
            ),
        }
        path = session.path
        if path is None or session.on_disk not in told:
            self._bar.show_offers([])
            return
        sentence, choices = told[session.on_disk]
        offer = Offer(f"“{path.name}” {sentence}", choices, path.name, str(path))
        self._bar.show_offers([offer])
