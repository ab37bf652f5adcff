"""The window's icons: drawings of one stroke in ``assets/icons``, in a colour of the palette.

They are the project's own, on a grid of 24 with a round stroke of 1.8.
"""

from __future__ import annotations

from functools import lru_cache

from PySide6.QtCore import QByteArray, QObject, QRectF, QSize, Qt
from PySide6.QtGui import QAction, QIcon, QPainter, QPixmap
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QAbstractButton

from barfit.catalogue import data_dir
from barfit.ui.theme import Theme, type_scale

SIZE = 16  # px beside type of usual size
RATIO = 3  # drawn at three times their size, so that they stay sharp on dense screens


def icon(name: str, colour: str, disabled: str | None = None) -> QIcon:
    """An icon in a colour, and in another where it cannot be used now. Raises ValueError where
    there is no such icon.
    """
    made = QIcon(_pixmap(name, colour))
    made.addPixmap(_pixmap(name, disabled or colour), QIcon.Mode.Disabled)
    return made


class Worn(QObject):
    """Keeps the icon of a button or an action in a colour of the palette, by its name there."""

    def __init__(
        self, wearer: QAbstractButton | QAction, name: str, theme: Theme, colour: str = "text"
    ) -> None:
        super().__init__(wearer)
        self._wearer, self.name, self._theme, self._colour = wearer, name, theme, colour
        if isinstance(wearer, QAbstractButton):
            size = round(SIZE * type_scale())
            wearer.setIconSize(QSize(size, size))
        theme.changed.connect(self.draw)
        self.draw()

    def show(self, name: str) -> None:
        """Wear another."""
        self.name = name
        self.draw()

    def draw(self) -> None:
        """In the palette as it is now."""
        colours = self._theme.colours
        self._wearer.setIcon(icon(self.name, getattr(colours, self._colour), colours.edge))


@lru_cache(maxsize=256)
def _pixmap(name: str, colour: str) -> QPixmap:
    file = data_dir() / "icons" / f"{name}.svg"
    if not file.is_file():
        raise ValueError(f"no icon is called {name!r}")
    drawing = file.read_text(encoding="utf-8").replace("currentColor", colour)
    pixmap = QPixmap(SIZE * RATIO, SIZE * RATIO)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    QSvgRenderer(QByteArray(drawing.encode())).render(painter, QRectF(pixmap.rect()))
    painter.end()
    pixmap.setDevicePixelRatio(RATIO)
    return pixmap
