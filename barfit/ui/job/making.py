"""What is made of the job to take along: sheets, a film, data; each by the command that makes it.

The commands run as a program of their own on a copy of the setup, so that a film of minutes holds
nothing up and can be stopped at once, and what is made is what the command line makes.
"""

from __future__ import annotations

import glob
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QProcess, QProcessEnvironment, Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout

from barfit import scenario
from barfit.commands.shared import TOLD
from barfit.film import draft_prefix
from barfit.model import Setup
from barfit.ui.job.film_looks import FilmLooks
from barfit.ui.job.rows import Cell, Rows, Sheet
from barfit.ui.theme import GRID, Type
from barfit.ui.widgets import Button, Segments

STOPS = 2000  # ms that a command has to let go of what it makes
PROGRAM = (sys.executable, "-m", "barfit")


@dataclass(frozen=True)
class Thing:
    """One thing that can be made: the command and its options before the name of the file.

    ``paper`` and ``film``: what is picked on the page of paper or film goes with it. ``folder``: it
    is made as a folder of several files, and has no ending.
    """

    name: str
    about: str
    endings: tuple[str, ...]
    command: tuple[str, ...]
    before_name: str = "--out"
    paper: bool = False
    film: bool = False
    folder: bool = False


THINGS = (
    Thing(
        "Job sheet",
        "For the bench: pictures, lengths, orders, cost, work, check list.",
        (".pdf", ".html"),
        ("sheet",),
        paper=True,
    ),
    Thing(
        "Quote",
        "For a customer: what must change and why, what it costs in a shop, when.",
        (".pdf", ".html"),
        ("sheet", "--quote"),
        paper=True,
    ),
    Thing(
        "Film",
        "Lock to lock and back, every picture a solved pose; as picked here.",
        (".mp4", ".gif"),
        ("film",),
        film=True,
    ),
    Thing(
        "Model",
        "The machine straight ahead as binary glTF, for drawing programs.",
        (".glb",),
        ("export",),
        "--gltf",
    ),
    Thing(
        "Tables",
        "Centrelines and numbers of the whole turn as CSV, for spreadsheets: a folder of two.",
        (),
        ("export",),
        "--csv",
        folder=True,
    ),
    Thing("Arrays", "The same as one file for NumPy.", (".npz",), ("export",), "--npz"),
)


class Making(Sheet):
    """``said`` gives a sentence about what was made, or why not."""

    said = Signal(str)

    def __init__(self, program: Sequence[str] = PROGRAM) -> None:
        super().__init__(beside=150)
        self._program = tuple(program)
        self._setup: Setup | None = None
        self._target = Path()
        self._doing = ""  # what is said while it is made
        self._heard, self._wrong = "", ""  # the last unfinished line, and what was no progress
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self._process = QProcess(self)
        self._process.setProcessEnvironment(_environment())
        self._process.finished.connect(self._finished)
        self._process.readyReadStandardError.connect(self._hear)
        self._process.errorOccurred.connect(self._lost)
        lead = self.add_words(step=Type.LEAD)
        lead.setText("To take along, print or send. Everything is worked out anew for it.")
        self.paper = Segments(
            (("A4", "a4", "210 × 297 mm"), ("Letter", "letter", "8.5 × 11 in")), "Size of the paper"
        )
        self._paper = "a4"
        self.paper.show_value(self._paper)
        self.paper.picked.connect(self._pick_paper)
        row = QHBoxLayout()
        row.addWidget(self.paper)
        row.addStretch(1)
        self.column.addLayout(row)
        self.buttons: dict[str, Button] = {}
        rows = Rows(("", ""), wide=1)
        rows.show_rows(
            [
                (Cell(widget=self._button(one), fill=True), Cell(one.about, fill=True))
                for one in THINGS
            ]
        )
        self.column.addWidget(rows)
        self.looks = FilmLooks()
        for part in (self.add_heading("How the film is made"), self.looks):
            self.beside.addWidget(part)
        self._state = self.add_words()
        self.stop_button = Button("Stop")
        self.stop_button.setToolTip("Give up what is being made")
        self.stop_button.clicked.connect(self.stop)
        under = QHBoxLayout()
        under.setSpacing(GRID)
        under.addWidget(self.stop_button)
        under.addStretch(1)
        self.column.addLayout(under)
        self.stop_button.hide()

    @property
    def text(self) -> str:
        """What is said of what is being made."""
        return self._state.text()

    @property
    def busy(self) -> bool:
        """Whether something is being made."""
        return self._process.state() != QProcess.ProcessState.NotRunning

    def show_setup(self, setup: Setup) -> None:
        """Make things of this from now on."""
        self._setup = setup

    def make(self, thing: Thing, target: Path) -> None:
        """Make one thing of the setup as it stands; nothing while another is being made."""
        if self.busy or self._setup is None:
            return
        self._folder = tempfile.TemporaryDirectory(prefix="barfit-")
        copy = Path(self._folder.name) / "setup.toml"
        try:
            scenario.save(self._setup, copy)
        except scenario.ScenarioError as error:
            self._ended(str(error))
            return
        picked: tuple[str, ...] = ("--paper", self._paper) if thing.paper else ()
        if thing.film:
            picked = self.looks.options
        command, *options = thing.command
        self._target = target
        self._doing, self._heard, self._wrong = f"{thing.name} is being made: {target.name}", "", ""
        self._say(f"{self._doing} …", making=True)
        self._process.start(
            self._program[0],
            [
                *self._program[1:],
                command,
                str(copy),
                *options,
                *picked,
                thing.before_name,
                str(target),
            ],
        )

    def stop(self) -> None:
        """Give up what is being made, at once."""
        if self.busy:
            self._process.blockSignals(True)
            self._process.terminate()  # what is half made goes with it
            if not self._process.waitForFinished(STOPS):
                self._process.kill()
                self._process.waitForFinished()
            self._process.blockSignals(False)
            for draft in self._target.parent.glob(f"{glob.escape(draft_prefix(self._target))}*"):
                draft.unlink(missing_ok=True)
            self._ended("Stopped; nothing was finished.")

    def _button(self, thing: Thing) -> Button:
        made = Button(f"{thing.name}…")
        made.setToolTip(" ".join(filter(None, (thing.about, ", ".join(thing.endings)))))
        made.clicked.connect(lambda: self._ask(thing))
        self.buttons[thing.name] = made
        return made

    def _ask(self, thing: Thing) -> None:
        title = self._setup.title if self._setup is not None else thing.name
        ending = "" if thing.folder else thing.endings[0]
        start = Path.home() / f"{title} {thing.name.lower()}{ending}"
        # a folder is named like a file: a dialog for folders takes none that has yet to be made
        heading = f"{thing.name}: a new folder" if thing.folder else thing.name
        name, picked = QFileDialog.getSaveFileName(self, heading, str(start), kinds_text(thing))
        if name:
            self.make(thing, ended(Path(name), thing, picked))

    def _pick_paper(self, paper: object) -> None:
        self._paper = str(paper)

    def _hear(self) -> None:
        """Take in what the command says: progress is shown, the rest kept for the end."""
        said = bytes(self._process.readAllStandardError().data()).decode(errors="replace")
        *lines, self._heard = f"{self._heard}{said}".split("\n")
        for line in lines:
            if line.startswith(f"{TOLD}: "):
                self._state.setText(f"{self._doing} … {line.removeprefix(f'{TOLD}: ')}")
            else:
                self._wrong += f"{line}\n"

    def _finished(self, code: int, _: object) -> None:
        self._hear()
        wrong = f"{self._wrong}{self._heard}".strip()
        if code == 0 and self._target.exists():
            self._ended(f"Written: {self._target}")
            return
        last = wrong.splitlines()[-1] if wrong else f"it ended with status {code}"
        self._ended(f"{self._target.name} was not made: {last}")

    def _lost(self, error: QProcess.ProcessError) -> None:
        if error is QProcess.ProcessError.FailedToStart:
            self._ended(f"{self._target.name} was not made: {self._process.errorString()}")

    def _ended(self, words: str) -> None:
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None
        self._say(words, making=False)
        self.said.emit(words)

    def _say(self, words: str, making: bool) -> None:
        self._state.setText(words)
        self.stop_button.setVisible(making)
        for button in self.buttons.values():
            button.setEnabled(not making)


def kinds_text(thing: Thing) -> str:
    """What the dialog offers: every kind that can be made, then each alone; "" for a folder."""
    each = [f"{ending[1:].upper()} (*{ending})" for ending in thing.endings]
    if len(each) < 2:
        return ";;".join(each)
    names = " or ".join(ending[1:].upper() for ending in thing.endings)
    every = " ".join(f"*{ending}" for ending in thing.endings)
    return ";;".join((f"{names} ({every})", *each))


def ended(path: Path, thing: Thing, picked: str) -> Path:
    """The path with an ending of the thing's: the one that was picked alone, or its first."""
    if thing.folder or path.suffix.lower() in thing.endings:
        return path
    alone = [ending for ending in thing.endings if picked.endswith(f"(*{ending})")]
    return path.with_name(f"{path.name}{(alone or thing.endings)[0]}")


def _environment() -> QProcessEnvironment:
    """Ours, and that progress is told in lines."""
    found = QProcessEnvironment.systemEnvironment()
    found.insert(TOLD, "1")
    return found
