"""The left side while the machine, its bars, controls and solids are being changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QMenu

from barfit import edits, forms, scenario, starting
from barfit.edits.names import find
from barfit.forms import drawings
from barfit.model import (
    Body,
    Box,
    Capsule,
    ControlKind,
    Ellipsoid,
    How,
    Role,
    Setup,
    Shape,
    Solid,
)
from barfit.report.phrases import capital
from barfit.ui.form import Views
from barfit.ui.form_side import FormSide
from barfit.ui.icons import Worn
from barfit.ui.theme import GRID, Theme
from barfit.ui.widgets import Button, GroupedChoices

_HERE = (-200.0, 0.0, -300.0)  # within the frame of most machines, to be moved
NEW_SHAPES: dict[str, Shape] = {
    "Round bar": Capsule(_HERE, (-200.0, 0.0, -200.0), 15.0),
    "Ellipsoid": Ellipsoid(_HERE, (60.0, 40.0, 40.0)),
    "Box": Box(_HERE, (80.0, 80.0, 80.0)),
}


@dataclass(frozen=True)
class Part:
    """Something with a form: a kind ("machine", "bars", …) and a name within it."""

    kind: str
    name: str = ""

    @property
    def title(self) -> str:
        """What it is called in the list of parts."""
        return {
            "machine": "Machine",
            "stock": "Stock bars",
            "new": "New bars",
            "rider": "Rider and place",
            "limits": "Limits",
            "sureness": "How sure",
        }.get(self.kind) or self.name

    @property
    def group(self) -> str:
        """What it is listed under."""
        return {
            "machine": "Machine",
            "stock": "Bars",
            "new": "Bars",
            "control": "Controls",
            "solid": "Solids",
        }.get(self.kind, "Judging")


class ChangeSide(FormSide):
    """Forms of everything but the lines. ``looked_at`` tells that the form of another Part is
    shown.
    """

    looked_at = Signal(object)

    def __init__(self, theme: Theme) -> None:
        super().__init__(theme, "Change the setup", "Fields")
        self._setup: Setup | None = None
        self._unit = "mm"
        self._part = Part("new")
        self.parts = GroupedChoices()
        self.parts.setAccessibleName("What to change")
        self.parts.setMaxVisibleItems(30)
        self.parts.activated.connect(self._picked)
        self.add, self.copy, self.delete = Button("Add"), Button("Duplicate"), Button("Delete")
        for button, name in ((self.add, "add"), (self.copy, "copy"), (self.delete, "delete")):
            Worn(button, name, theme)
        self.add.setToolTip("Add a control or a solid")
        self.add.setMenu(self._add_menu())
        self.copy.clicked.connect(self._copy)
        self.delete.clicked.connect(self._delete)
        self.form.edited.connect(self.edited)
        buttons = QHBoxLayout()
        buttons.setSpacing(GRID // 2)
        for button in (self.add, self.copy, self.delete):
            buttons.addWidget(button)
        buttons.addStretch(1)
        self.head.addWidget(self.parts)
        self.head.addLayout(buttons)
        self.head.addWidget(self.drawing)

    @property
    def part(self) -> Part:
        """The part whose form is shown."""
        return self._part

    def show_part(self, part: Part) -> None:
        """Show this part's form."""
        self._part = part
        self._refresh()
        self.looked_at.emit(part)

    def show_setup(self, setup: Setup, unit: str) -> None:
        """The setup as it is now."""
        self._setup, self._unit = setup, unit
        self._refresh()

    def _refresh(self) -> None:
        setup = self._setup
        if setup is None:
            return
        parts = _parts(setup)
        if self._part not in parts:
            self._part = Part("machine")
        self.parts.show_parts([(part.group, capital(part.title), part) for part in parts])
        self.parts.show_value(self._part)
        solid, control = self._part.kind == "solid", self._part.kind == "control"
        self.copy.setVisible(solid or control)
        self.delete.setVisible(solid or control)
        self.form.show_groups(
            _groups(setup, self._part, self._unit), _views(setup, self._part), self._unit
        )
        self.form.follow(self.delete)

    def _picked(self, row: int) -> None:
        part = self.parts.itemData(row)
        if part is not None:
            self.show_part(part)

    def _add_menu(self) -> QMenu:
        """Every kind of control and every shape of solid."""
        menu = QMenu(self)
        controls, solids = menu.addMenu("Control"), menu.addMenu("Solid")
        for kind in ControlKind:
            action = controls.addAction(capital(str(kind)))
            action.triggered.connect(lambda _=False, kind=kind: self._add_control(kind))
        for name, shape in NEW_SHAPES.items():
            action = solids.addAction(name)
            action.triggered.connect(lambda _=False, shape=shape: self._add_solid(shape))
        return menu

    def _add_control(self, kind: ControlKind) -> None:
        def change(setup: Setup) -> Setup:
            machines = [scenario.load(path) for path in scenario.bundled()]
            near = starting.nearest_first(setup, machines)
            return edits.add_control(setup, starting.usual_control(setup, kind, near))

        if self._edit(change, f"Add {kind}") and self._setup is not None:
            self.show_part(Part("control", self._setup.controls[-1].name))

    def _add_solid(self, shape: Shape) -> None:
        solid = Solid("new solid", Role.OTHER, Body.FRAME, shape, How.NOT_MEASURED)
        if self._edit(lambda setup: edits.add_solid(setup, solid), "Add solid"):
            assert self._setup is not None
            self.show_part(Part("solid", self._setup.machine.solids[-1].name))

    def _copy(self) -> None:
        kind, name = self._part.kind, self._part.name
        make = edits.duplicate_solid if kind == "solid" else edits.duplicate_control
        before = _parts(self._setup) if self._setup is not None else []
        if self._edit(lambda setup: make(setup, name), f"Duplicate {name}"):
            assert self._setup is not None
            self.show_part(next(one for one in _parts(self._setup) if one not in before))

    def _delete(self) -> None:
        drop = edits.delete_solid if self._part.kind == "solid" else edits.delete_control
        self._edit(lambda setup: drop(setup, self._part.name), f"Delete {self._part.name}")

    def _edit(self, change: Callable[[Setup], Setup], step: str) -> bool:
        """Ask for an edit; gives whether it was taken."""
        if self._setup is None:
            return False
        before = self._setup
        try:
            self.edited.emit(change(self._setup), step, None)
        except ValueError as error:
            self.edited.emit(None, str(error), None)
        return self._setup is not before


def _parts(setup: Setup) -> list[Part]:
    return [
        Part("new"),
        Part("stock"),
        Part("machine"),
        Part("rider"),
        Part("limits"),
        Part("sureness"),
        *(Part("control", control.name) for control in setup.controls),
        *(Part("solid", solid.name) for solid in setup.machine.solids),
    ]


def _groups(setup: Setup, part: Part, unit: str) -> tuple[forms.Group, ...]:
    if part.kind == "machine":
        return forms.machine_form(setup)
    if part.kind in ("stock", "new"):
        return forms.bars_form(setup, part.kind == "stock")
    if part.kind == "control":
        return forms.control_form(setup, part.name)
    if part.kind == "solid":
        return forms.solid_form(setup, part.name)
    if part.kind == "rider":
        return forms.rider_form(setup)
    if part.kind == "limits":
        return forms.limits_form(setup, unit)
    return forms.sureness_form(setup)


def _views(setup: Setup, part: Part) -> Views:
    if part.kind == "machine":
        side, front, locks = drawings.machine_views(setup)
        return {
            "steering": (side, locks),
            "fork": (side, front),
            "head_tube": (side,),
            "wheel": (side, front),
            "risers": (side, front),
        }
    if part.kind in ("stock", "new"):
        stock = part.kind == "stock"
        return {
            "bar": drawings.bar_views(setup, stock),
            "riser": drawings.riser_views(setup, stock),
        }
    if part.kind == "control":
        control = find(setup.controls, part.name)
        return {"control": drawings.control_views(setup, False, control)} | {
            f"outlet {one.name}": drawings.control_views(setup, False, control, one.name)
            for one in control.outlets
        }
    return {}
