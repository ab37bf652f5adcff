"""All commands of the window, as actions with their keys, and the menus they stand in.

A command is named here once. What it does is connected by the window.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from barfit.scene.colours import Colour
from barfit.ui.icons import Worn
from barfit.ui.theme import Choice, Theme, TypeSize

Keys = QKeySequence.StandardKey | str | None


@dataclass(frozen=True)
class Command:
    """One entry of a menu; ``icon`` names its drawing, "" has none."""

    name: str
    text: str
    keys: Keys = None
    icon: str = ""


VIEWS = (
    Command("rider", "Rider's view", "1"),
    Command("front", "Front view", "2"),
    Command("left", "Left view", "3"),
    Command("right", "Right view", "4"),
    Command("top", "Top view", "5"),
    Command("three-quarter", "Three-quarter view", "6"),
)
TURNS = (
    Command("play", "Play or pause", "Space", icon="play"),
    Command("back", "1° towards right lock", "Left"),
    Command("forward", "1° towards left lock", "Right"),
    Command("back_5", "5° towards right lock", "Shift+Left"),
    Command("forward_5", "5° towards left lock", "Shift+Right"),
    Command("right_lock", "Right lock", "Home", icon="right_lock"),
    Command("left_lock", "Left lock", "End", icon="left_lock"),
    Command("ahead", "Straight ahead", "C", icon="ahead"),
    Command("worst", "Worst pose of the selected line", "W", icon="worst"),
    Command("slower", "Slower", "-", icon="slower"),
    Command("faster", "Faster", "+", icon="faster"),
)
COLOURS = (
    Command(Colour.SLACK, "Slack", "Shift+S"),
    Command(Colour.BEND, "Bend", "Shift+B"),
    Command(Colour.PULL, "Pull", "Shift+P"),
)
UNITS = (Command("mm", "Millimetres"), Command("in", "Inches"))
SORTS = (
    Command("file", "Order of the file"),
    Command("verdict", "Verdict, worst first"),
    Command("margin", "Margin"),
    Command("name", "Name"),
)
THEMES = (
    Command(Choice.SYSTEM, "As the system"),
    Command(Choice.LIGHT, "Light"),
    Command(Choice.DARK, "Dark"),
)
TYPE_SIZES = (
    Command(TypeSize.SYSTEM, "As the system"),
    Command(TypeSize.LARGER, "Larger"),
    Command(TypeSize.LARGEST, "Largest"),
)


class Commands(QObject):
    """The actions and menus of one window. ``asked`` names the command that was given.

    ``file_asked`` tells a path picked from the recent files or the examples. Choices of one out
    of several are told as ``colour_picked``, ``unit_picked``, ``theme_picked``, ``type_picked``,
    ``sort_picked``.
    """

    asked = Signal(str)
    file_asked = Signal(object)
    view_picked = Signal(str)
    colour_picked = Signal(object)
    unit_picked = Signal(str)
    theme_picked = Signal(object)
    type_picked = Signal(object)
    sort_picked = Signal(str)

    def __init__(self, window: QMainWindow, theme: Theme) -> None:
        super().__init__(window)
        self._window, self._theme = window, theme
        self.actions: dict[str, QAction] = {}
        bar = window.menuBar()

        file = bar.addMenu("&File")
        self._add(file, Command("new", "&New setup…", QKeySequence.StandardKey.New, icon="add"))
        self._add(file, Command("open", "&Open…", QKeySequence.StandardKey.Open, icon="open"))
        self.recent = file.addMenu("Open &recent")
        self.examples = file.addMenu("Open &example")
        file.addSeparator()
        self.save = self._add(
            file, Command("save", "&Save", QKeySequence.StandardKey.Save, icon="save")
        )
        self._add(file, Command("save_as", "Save &as…", "Ctrl+Shift+S"))
        file.addSeparator()
        self._add(file, Command("picture", "Save &picture…", "Ctrl+E", icon="picture"))
        file.addSeparator()
        self._add(file, Command("quit", "&Quit", "Ctrl+Q", icon="quit"))

        edit = bar.addMenu("&Edit")
        self.undo = self._add(
            edit, Command("undo", "&Undo", QKeySequence.StandardKey.Undo, icon="undo")
        )
        self.redo = self._add(
            edit, Command("redo", "&Redo", QKeySequence.StandardKey.Redo, icon="redo")
        )

        edit.addSeparator()
        self._add(edit, Command("change", "&Change the setup…", "F2", icon="change"))
        self._add(edit, Command("measure", "&Measure the machine…", "F3", icon="unit"))
        self._add(edit, Command("add_line", "&Add a line…", "Ctrl+L", icon="add"))
        self._add(edit, Command("delete_station", "Delete guide or clip", "Delete", icon="delete"))
        here = self._add(edit, Command("context", "What can be done with it", "Shift+F10"))
        here.setShortcuts([QKeySequence("Shift+F10"), QKeySequence(Qt.Key.Key_Menu)])

        view = bar.addMenu("&View")
        for command in VIEWS:
            action = self._make(command)
            action.triggered.connect(lambda _=False, name=command.name: self.view_picked.emit(name))
            view.addAction(action)
        self._add(view, Command("frame", "Frame the selected line", "F", icon="frame"))
        view.addSeparator()
        self._add(view, Command("job", "The &job: order, cost, work, checks", "F6", icon="job"))
        self._add(view, Command("show", "&Show to a customer", "F5", icon="show"))
        view.addSeparator()
        self._add(view, Command("bars", "Stock bars or new bars", "B", icon="bars"))
        self.ghost = self._add(view, Command("ghost", "Ghost of the other bars", "G"))
        self.ghost.setCheckable(True)
        view.addSeparator()
        self.bodies = self._add(view, Command("bodies", "What moves with what", "M"))
        self.bodies.setCheckable(True)
        self._choice(view, "Colour by", COLOURS, self.colour_picked)
        self._choice(view, "Lengths in", UNITS, self.unit_picked)
        self._add(view, Command("unit", "Inches or millimetres", "U"))
        self._choice(view, "Appearance", THEMES, self.theme_picked)
        self._choice(view, "Type size", TYPE_SIZES, self.type_picked)

        turn = bar.addMenu("&Turn")
        for command in TURNS:
            self._add(turn, command)

        lines = bar.addMenu("&Lines")
        self._add(lines, Command("previous", "Previous line", "Up", icon="up"))
        self._add(lines, Command("next", "Next line", "Down", icon="down"))
        lines.addSeparator()
        self._choice(lines, "Sort by", SORTS, self.sort_picked)

        help_menu = bar.addMenu("&Help")
        self._add(help_menu, Command("keys", "&Keys", "F1", icon="keys"))
        self._add(help_menu, Command("about", "&About barfit", icon="about"))

    def fill_files(self, menu: QMenu, files: Sequence[tuple[str, Path]]) -> None:
        """Fill a menu with files to open."""
        menu.clear()
        menu.setEnabled(bool(files))
        for text, path in files:
            action = menu.addAction(text.replace("&", "&&"))
            action.triggered.connect(lambda _=False, path=path: self.file_asked.emit(path))

    def show_history(self, undo: str | None, redo: str | None, changed: bool) -> None:
        """Name the edits that can be undone and redone, and say whether there is any to save."""
        self.save.setEnabled(changed)
        for action, word, name in ((self.undo, "&Undo", undo), (self.redo, "&Redo", redo)):
            action.setEnabled(name is not None)
            action.setText(word if name is None else f"{word}: {name.replace('&', '&&')}")

    def check(self, group: str, value: str) -> None:
        """Show which of several is chosen, without telling."""
        self.actions[f"{group}: {value}"].setChecked(True)

    def _make(self, command: Command) -> QAction:
        action = QAction(command.text, self._window)
        if command.keys is not None:
            action.setShortcut(QKeySequence(command.keys))
        if command.icon:
            Worn(action, command.icon, self._theme)
        self.actions[command.name] = action
        return action

    def _add(self, menu: QMenu, command: Command) -> QAction:
        action = self._make(command)
        action.triggered.connect(lambda _=False: self.asked.emit(command.name))
        menu.addAction(action)
        return action

    def _choice(self, menu: QMenu, title: str, commands: Sequence[Command], told: object) -> None:
        sub = menu.addMenu(title)
        group = QActionGroup(self._window)
        for command in commands:
            action = self._make(Command(f"{title}: {command.name}", command.text, command.keys))
            action.setCheckable(True)
            action.setWhatsThis(f"{title} {command.text.lower()}")  # as it reads on its own
            group.addAction(action)
            sub.addAction(action)
            action.triggered.connect(
                lambda _=False, name=command.name: told.emit(name)  # type: ignore[attr-defined]
            )
