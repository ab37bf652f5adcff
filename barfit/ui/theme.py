"""How the window looks: two palettes, one accent, an 8 px grid and a short scale of type.

Sizes of type are steps from the system's own font, so text follows the system's scaling. The
accent marks what the user steers (selection, playhead, switches) and nothing else; green, it
keeps away from the blue and orange of the slack scale.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontInfo, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from barfit.analysis import Verdict
from barfit.trade import Grade

GRID = 8


@dataclass(frozen=True)
class Colours:
    """One palette, as "#rrggbb". ``ground`` lies behind everything, ``panel`` carries text;
    ``line`` divides, ``edge`` says where something begins that can be typed in.
    """

    dark: bool
    ground: str
    panel: str
    raised: str
    line: str
    edge: str
    text: str
    muted: str
    accent: str
    on_accent: str
    accent_wash: str
    good: str
    warn: str
    bad: str
    long: str
    unknown: str
    message: str

    def verdict(self, verdict: Verdict) -> str:
        """The colour of a verdict's mark; its shape and word say the same."""
        return {
            Verdict.REACHES: self.good,
            Verdict.RUBS: self.warn,
            Verdict.UNCERTAIN: self.warn,
            Verdict.MARGINAL: self.warn,
            Verdict.TOO_LONG: self.long,
            Verdict.BEND_TOO_TIGHT: self.bad,
            Verdict.PINCHED: self.bad,
            Verdict.SHORT: self.bad,
            Verdict.NOT_KNOWN: self.unknown,
        }[verdict]

    def grade(self, grade: Grade) -> str:
        """The colour of a grade's mark; its shape and word say the same."""
        return {
            Grade.NOTE: self.muted,
            Grade.FINE: self.good,
            Grade.NOT_KNOWN: self.unknown,
            Grade.CAUTION: self.warn,
            Grade.REJECT: self.bad,
        }[grade]


LIGHT = Colours(
    dark=False,
    ground="#e4e7e6",
    panel="#f6f7f6",
    raised="#ffffff",
    line="#d2d7d5",
    edge="#7f8a86",
    text="#1d2422",
    muted="#56625e",
    accent="#1b6b58",
    on_accent="#ffffff",
    accent_wash="#d9e8e3",
    good="#2f7d62",
    warn="#9a6200",
    bad="#a81e1e",
    long="#2a67a8",
    unknown="#555b66",
    message="#fbe9d7",
)

DARK = Colours(
    dark=True,
    ground="#141716",
    panel="#1c201f",
    raised="#262b29",
    line="#363d3a",
    edge="#6f7a76",
    text="#e7ebe9",
    muted="#9ba7a3",
    accent="#4fb896",
    on_accent="#0d1a16",
    accent_wash="#20362f",
    good="#62bd98",
    warn="#e0a33c",
    bad="#f0775a",
    long="#6fa8e0",
    unknown="#b4b8c0",
    message="#43301c",
)


class Type(StrEnum):
    """The steps of the type scale."""

    SMALL = "small"
    BODY = "body"
    STRONG = "strong"
    LEAD = "lead"
    TITLE = "title"
    FIGURE = "figure"


SCALE = {
    Type.SMALL: (0.88, QFont.Weight.Normal),
    Type.BODY: (1.0, QFont.Weight.Normal),
    Type.STRONG: (1.0, QFont.Weight.DemiBold),
    Type.LEAD: (1.14, QFont.Weight.Normal),
    Type.TITLE: (1.3, QFont.Weight.DemiBold),
    Type.FIGURE: (1.5, QFont.Weight.DemiBold),
}


USUAL_TYPE = 12  # px of the system's font on most desktops
USUAL_SHOW = (1280, 800)  # px of a window in which what is shown to a customer is of usual size


def type_scale() -> float:
    """How much larger than usual the system's type is, for what Qt does not write; 1 at least."""
    return max(QFontInfo(QApplication.font()).pixelSize() / USUAL_TYPE, 1.0)


def show_scale(width: int, height: int) -> float:
    """How much larger than usual words are in a window of that size that is shown to a customer."""
    return min(max(min(width / USUAL_SHOW[0], height / USUAL_SHOW[1]), 0.75), 2.0)


def font(step: Type) -> QFont:
    """The system's font at one step of the scale."""
    made = QFont(QApplication.font())
    factor, weight = SCALE[step]
    made.setPointSizeF(made.pointSizeF() * factor)
    made.setWeight(weight)
    return made


class Choice(StrEnum):
    """What the user asked for: follow the system, or always one of the two."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


class TypeSize(StrEnum):
    """How large the type is: as that of the system, or larger."""

    SYSTEM = "system"
    LARGER = "larger"
    LARGEST = "largest"

    @property
    def factor(self) -> float:
        """Of the size of the system's type."""
        return {"system": 1.0, "larger": 1.25, "largest": 1.5}[self]


def enlarge(size: TypeSize) -> None:
    """Let all type of windows made from now on be of that size."""
    made = QFont(QApplication.font())
    made.setPointSizeF(size.factor * made.pointSizeF())
    QApplication.setFont(made)


class Theme(QObject):
    """The palette in force; ``changed`` when the user or the system asks for another."""

    changed = Signal()

    def __init__(self, choice: Choice, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.choice = choice
        self._hints = QGuiApplication.styleHints()
        self._hints.colorSchemeChanged.connect(self._system_changed)
        self.apply()

    @property
    def colours(self) -> Colours:
        """The palette in force."""
        if self.choice is Choice.SYSTEM:
            return DARK if self._hints.colorScheme() is Qt.ColorScheme.Dark else LIGHT
        return DARK if self.choice is Choice.DARK else LIGHT

    def choose(self, choice: Choice) -> None:
        """Follow the system or hold to one palette."""
        self.choice = choice
        self.apply()

    def apply(self) -> None:
        """Give the palette and the style sheet to the application."""
        colours = self.colours
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.setPalette(palette(colours))
        app.setStyleSheet(style_sheet(colours))
        self.changed.emit()

    def _system_changed(self) -> None:
        if self.choice is Choice.SYSTEM:
            self.apply()


def palette(colours: Colours) -> QPalette:
    """The colours as Qt's own roles, for what a style sheet does not reach."""
    made = QPalette()
    roles = QPalette.ColorRole
    for role, name in (
        (roles.Window, colours.panel),
        (roles.WindowText, colours.text),
        (roles.Base, colours.raised),
        (roles.AlternateBase, colours.panel),
        (roles.Text, colours.text),
        (roles.PlaceholderText, colours.muted),
        (roles.Button, colours.raised),
        (roles.ButtonText, colours.text),
        (roles.ToolTipBase, colours.raised),
        (roles.ToolTipText, colours.text),
        (roles.Highlight, colours.accent),
        (roles.HighlightedText, colours.on_accent),
        (roles.Link, colours.accent),
        (roles.Mid, colours.line),
    ):
        made.setColor(role, QColor(name))
    for role in (roles.Text, roles.WindowText, roles.ButtonText):
        made.setColor(QPalette.ColorGroup.Disabled, role, QColor(colours.muted))
    return made


def style_sheet(colours: Colours) -> str:
    """One style sheet for the whole application."""
    c = colours
    return f"""
    QMainWindow, QSplitter {{ background: {c.ground}; }}
    QSplitter::handle {{ background: {c.line}; }}
    QWidget#side {{ background: {c.panel}; }}
    QScrollArea > QWidget > QWidget#side {{ background: {c.panel}; border: 0; }}
    QScrollArea {{ background: {c.panel}; border: 2px solid {c.panel}; }}
    QScrollArea:focus {{ border-color: {c.accent}; }}
    QLabel[muted="true"] {{ color: {c.muted}; }}
    QFrame#rule {{ background: {c.line}; border: 0; max-height: 1px; min-height: 1px; }}
    QToolTip {{ background: {c.raised}; color: {c.text}; border: 1px solid {c.line};
        padding: 2px 4px; }}
    QMenuBar {{ background: {c.panel}; border-bottom: 1px solid {c.line}; padding: 2px 4px; }}
    QMenuBar::item {{ padding: 4px 8px; border-radius: 4px; background: transparent; }}
    QMenuBar::item:selected {{ background: {c.accent_wash}; }}
    QMenu {{ background: {c.raised}; border: 1px solid {c.line}; padding: 4px; }}
    QMenu::item {{ padding: 5px 24px 5px 8px; border-radius: 4px;
        min-height: 16px; }}
    QMenu::icon {{ padding-left: 8px; }}
    QMenu::item:selected {{ background: {c.accent_wash}; color: {c.text}; }}
    QMenu::item:disabled {{ color: {c.muted}; }}
    QMenu::separator {{ height: 1px; background: {c.line}; margin: 4px 8px; }}
    QPushButton {{ background: {c.raised}; color: {c.text}; border: 1px solid {c.line};
        border-radius: 6px; padding: 5px 12px; }}
    QPushButton:hover {{ border-color: {c.muted}; }}
    QPushButton:focus {{ border: 2px solid {c.accent}; padding: 4px 11px; }}
    QPushButton:disabled {{ color: {c.muted}; }}
    QPushButton[role="icon"] {{ padding: 5px; }}
    QPushButton[role="icon"]:focus {{ padding: 4px; }}
    QPushButton[role="play"] {{ background: {c.accent}; border: 2px solid {c.panel}; padding: 4px;
        border-radius: 8px; }}
    QPushButton[role="play"]:focus {{ border: 3px solid {c.text}; padding: 3px; }}
    QPushButton[role="main"] {{ background: {c.accent}; color: {c.on_accent};
        border: 2px solid {c.panel}; padding: 4px 11px; }}
    QPushButton[role="main"]:focus {{ border-color: {c.text}; }}
    QPushButton[role="quiet"] {{ background: transparent; border-color: transparent;
        color: {c.accent}; padding: 3px 6px; text-align: left; }}
    QPushButton[role="quiet"]:hover {{ background: {c.accent_wash}; }}
    QPushButton[role="quiet"]:focus {{ border: 2px solid {c.accent}; padding: 2px 5px; }}
    QPushButton[role="fact"] {{ background: transparent; border: 0; padding: 0; color: {c.accent};
        text-align: right; }}
    QPushButton[role="fact"][grade="caution"], QLabel[grade="caution"] {{ color: {c.warn};
        font-weight: 600; }}
    QPushButton[role="fact"][grade="not acceptable"], QLabel[grade="not acceptable"] {{
        color: {c.bad}; font-weight: 600; }}
    QPushButton[role="fact"]:hover {{ text-decoration: underline; }}
    QPushButton[role="fact"]:focus {{ text-decoration: underline; }}
    QPushButton[role="fold"] {{ background: transparent; border: 0; padding: 2px 0;
        text-align: left; font-weight: 600; }}
    QPushButton[role="fold"]:hover, QPushButton[role="fold"]:focus {{ color: {c.accent}; }}
    QPushButton[role="row"] {{ background: transparent; border: 1px solid transparent;
        border-radius: 5px; padding: 4px 8px; text-align: left; }}
    QPushButton[role="row"]:hover {{ background: {c.raised}; }}
    QPushButton[role="row"]:checked {{ background: {c.accent_wash}; }}
    QPushButton[role="row"]:focus {{ border: 2px solid {c.accent}; padding: 3px 7px; }}
    QFrame[role="offered"], QFrame[role="taken"] {{ background: {c.raised};
        border: 1px solid {c.line}; border-radius: 6px; }}
    QFrame[role="taken"] {{ background: {c.accent_wash}; border-color: {c.accent}; }}
    QLineEdit, QComboBox {{ background: {c.raised}; color: {c.text}; border: 1px solid {c.edge};
        border-radius: 5px; padding: 3px 7px; min-height: 18px;
        selection-background-color: {c.accent}; selection-color: {c.on_accent}; }}
    QLineEdit:hover, QComboBox:hover {{ border-color: {c.text}; }}
    QLineEdit:focus, QComboBox:focus {{ border: 2px solid {c.accent}; padding: 2px 6px; }}
    QLineEdit[wrong="true"] {{ border-color: {c.bad}; }}
    QLabel[wrong="true"] {{ color: {c.bad}; }}
    QCheckBox::indicator, QRadioButton::indicator {{ width: 14px; height: 14px;
        background: {c.raised}; border: 1px solid {c.edge}; border-radius: 4px; }}
    QRadioButton::indicator {{ border-radius: 8px; }}
    QCheckBox::indicator:hover, QRadioButton::indicator:hover {{ border-color: {c.text}; }}
    QCheckBox::indicator:checked {{ background: {c.accent}; border-color: {c.accent}; }}
    QRadioButton::indicator:checked {{ background: {c.raised}; border: 5px solid {c.accent};
        width: 6px; height: 6px; }}
    QCheckBox::indicator:focus, QRadioButton::indicator:unchecked:focus {{ width: 12px;
        height: 12px; border: 2px solid {c.accent}; }}
    QCheckBox::indicator:checked:focus, QRadioButton::indicator:checked:focus {{
        border-color: {c.text}; }}
    QComboBox::drop-down {{ border: 0; width: 18px; }}
    QComboBox QAbstractItemView {{ background: {c.raised}; color: {c.text};
        border: 1px solid {c.line}; outline: 0; padding: 2px;
        selection-background-color: {c.accent_wash}; selection-color: {c.text}; }}
    QWidget#segments {{ background: {c.ground}; border-radius: 7px; }}
    QPushButton[role="segment"] {{ background: transparent; border: 1px solid transparent;
        border-radius: 5px; padding: 4px 10px; color: {c.muted}; }}
    QPushButton[role="segment"]:hover {{ color: {c.text}; }}
    QPushButton[role="segment"]:checked {{ background: {c.raised}; color: {c.text};
        border-color: {c.line}; }}
    QPushButton[role="segment"]:focus {{ border: 2px solid {c.accent}; padding: 3px 9px; }}
    QWidget#choice QPushButton[role="segment"]:checked {{ background: {c.accent};
        border: 2px solid {c.ground}; border-radius: 7px; padding: 3px 9px; color: {c.on_accent}; }}
    QWidget#choice QPushButton[role="segment"]:focus:checked {{ border: 3px solid {c.text};
        padding: 2px 8px; }}
    QTableView, QListWidget {{ background: {c.panel}; border: 2px solid {c.panel}; outline: 0;
        border-radius: 5px;
        selection-background-color: {c.accent_wash}; selection-color: {c.text}; }}
    QListWidget::item {{ padding: 3px 6px; border-radius: 5px; }}
    QListWidget::item:hover {{ background: {c.raised}; }}
    QListWidget::item:selected {{ background: {c.accent_wash}; color: {c.text}; }}
    QTableView:focus, QListWidget:focus {{ border-color: {c.accent}; }}
    QHeaderView {{ background: {c.panel}; border: 0; }}
    QHeaderView::section {{ background: {c.panel}; color: {c.muted}; border: 0;
        border-bottom: 1px solid {c.line}; padding: 4px 6px; }}
    QFrame#message QScrollArea, QFrame#message QWidget#message {{
        background: {c.message}; border: 0; }}
    QFrame#message {{ background: {c.message}; border: 0; border-bottom: 1px solid {c.warn}; }}
    QFrame#offer {{ background: {c.accent_wash}; border: 0; border-bottom: 1px solid {c.line}; }}
    QLabel#readout {{ background: {c.panel}; color: {c.text}; border: 1px solid {c.line};
        border-radius: 4px; padding: 4px 8px; }}
    QFrame#caution {{ background: transparent; border: 0; border-left: 3px solid {c.warn}; }}
    QProgressBar {{ background: {c.ground}; border: 0; border-radius: 2px; max-height: 4px;
        min-height: 4px; }}
    QProgressBar::chunk {{ background: {c.accent}; border-radius: 2px; }}
    QScrollBar:vertical {{ background: transparent; width: 10px; margin: 0; }}
    QScrollBar::handle:vertical {{ background: {c.line}; border-radius: 4px; min-height: 24px;
        margin: 1px; }}
    QScrollBar::handle:vertical:hover {{ background: {c.muted}; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ height: 0; width: 0; }}
    """
