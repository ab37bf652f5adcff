"""How a film is made: from where it is seen, how the fork stands, what is in it, how large."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtWidgets import QGridLayout, QWidget

from barfit.film import Fork
from barfit.scene import VIEWS
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Choices, Tick, label

_FORKS = {
    Fork.RIDE_HEIGHT: "at ride height",
    Fork.EXTENDED: "fully extended",
    Fork.COMPRESSED: "fully compressed",
    Fork.BOUNCE: "bounced at both locks",
}
_SIZES = {
    "854x480": "854 × 480, to send",
    "1280x720": "1280 × 720",
    "1920x1080": "1920 × 1080, large",
}
WIDTH = 30 * GRID


class FilmLooks(QWidget):
    """What can be picked of a film; ``options`` are those of the command."""

    def __init__(self) -> None:
        super().__init__()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(2 * GRID)
        self._grid.setColumnStretch(2, 1)
        views = {name: view.label for name, view in VIEWS.items()}
        self.view = self._choice("Seen from", views, "three-quarter")
        self.fork = self._choice("Fork", {str(one): word for one, word in _FORKS.items()})
        self.pixels = self._choice("Size in pixels", _SIZES, "1280x720")
        self.ghost = self._tick("Stock bars and lines, pale, behind")
        self.captions = self._tick("Turn and worst line written into it")

    @property
    def options(self) -> tuple[str, ...]:
        """The options of `barfit film`."""
        return (
            *("--view", self.view.currentData()),
            *("--fork", self.fork.currentData()),
            *("--size", self.pixels.currentData()),
            *(["--stock-ghost"] if self.ghost.isChecked() else []),
            *([] if self.captions.isChecked() else ["--no-captions"]),
        )

    def _choice(self, name: str, words: Mapping[str, str], first: str = "") -> Choices:
        made = Choices()
        for key, word in words.items():
            made.addItem(word, key)
        made.setCurrentIndex(max(made.findData(first), 0))
        made.setAccessibleName(f"Film: {name.lower()}")
        made.setFixedWidth(WIDTH)
        row = self._grid.rowCount()
        self._grid.addWidget(label(name, Type.BODY), row, 0)
        self._grid.addWidget(made, row, 1)
        return made

    def _tick(self, words: str) -> Tick:
        made = Tick()
        made.setText(words)
        made.setChecked(True)
        made.setAccessibleName(f"Film: {words.lower()}")
        self._grid.addWidget(made, self._grid.rowCount(), 0, 1, 2)
        return made
