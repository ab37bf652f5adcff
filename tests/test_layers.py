"""Who may import whom. A new package fails here until it is listed."""

from __future__ import annotations

import ast
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "barfit"

MAY_IMPORT: dict[str, set[str]] = {
    "__init__": set(),
    "__main__": {"cli"},
    "units": set(),
    "display": set(),
    "compiled": set(),
    "model": set(),
    "catalogue": {"model", "units"},
    "scenario": {"model", "units", "catalogue"},
    "geometry": {"compiled"},  # takes arrays; the exceptions are below
    "mechanics": {"compiled", "geometry.curve", "geometry.grid", "geometry.solids"},
    "analysis": {"model", "catalogue", "geometry", "mechanics"},
    "trade": {"model", "catalogue", "geometry", "analysis"},
    "report": {"model", "units", "catalogue", "analysis", "trade", "remedies", "workshop"},
    "edits": {"model", "geometry"},
    "compare": {"model", "units", "analysis", "trade", "report", "edits"},
    "remedies": {"model", "catalogue", "geometry", "analysis", "trade", "edits"},
    "workshop": {"model", "units", "catalogue", "analysis", "trade", "remedies"},
    "sheets": {
        "model",
        "units",
        "catalogue",
        "analysis",
        "trade",
        "remedies",
        "workshop",
        "report",
    },
    "export": {"model", "units", "analysis", "geometry"},
    "starting": {"model", "catalogue", "geometry", "analysis", "trade", "edits"},
    "measuring": {"model", "units", "analysis", "geometry", "report", "edits", "forms"},
    "history": {"model"},
    "recovery": {"model", "scenario"},
    "forms": {"model", "units", "catalogue", "scenario", "geometry", "edits"},
    "session": {
        "history",
        "model",
        "units",
        "catalogue",
        "scenario",
        "geometry",
        "mechanics",
        "analysis",
        "trade",
        "report",
        "remedies",
        "workshop",
    },
    "scene": {"model", "units", "compiled", "geometry", "analysis"},
    "film": {"model", "units", "analysis", "report", "scene"},
    "bench": {
        "model",
        "units",
        "catalogue",
        "scenario",
        "geometry",
        "mechanics",
        "analysis",
        "trade",
        "remedies",
        "edits",
        "scene",
    },
}
ANYTHING = {"ui", "cli", "commands"}
ALSO = {"geometry/parts.py": {"model"}, "geometry/pose.py": {"model"}}

# Third parties that stay where they are, by the layers that may use them.
MAY_USE: dict[str, set[str]] = {
    "PySide6": {"ui"},
    "pyqtgraph": {"ui"},
    "pyvistaqt": {"ui/viewport.py"},
    "pyvista": {"scene", "ui"},
    "vtkmodules": {"scene", "ui", "geometry/meshes.py"},  # the latter for distances, no drawing
    "vtk": set(),
    "pydantic": {"scenario", "forms"},
    "pydantic_core": {"scenario", "forms"},
    "tomlkit": {"scenario"},
    "trimesh": {"scenario/meshes.py", "scene/gltf.py"},
    "filelock": {"recovery"},
    "icalendar": {"workshop/calendar.py"},
    "numba": {"compiled"},
    "typer": {"cli", "commands"},
    "imageio_ffmpeg": {"film"},
    "jinja2": {"sheets"},
    "markupsafe": {"sheets"},
    "weasyprint": {"sheets"},
}


def modules() -> list[Path]:
    return sorted(ROOT.rglob("*.py"))


def layer_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imports(tree: ast.AST) -> Iterator[str]:
    """Every absolute name that is imported, at any depth of the file."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "imports are absolute here"
            assert node.module is not None
            # "from barfit import units" and "from barfit.geometry import pose" name modules
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def breach(path: Path, name: str) -> str:
    """Why the module at ``path`` may not import ``name``; "" where it may."""
    where = path.relative_to(ROOT).as_posix()
    layer = layer_of(path)
    top, *rest = name.split(".")
    if top in MAY_USE and not {layer, where} & MAY_USE[top]:
        return f"{where} may not use {top}"
    if top != "barfit" or layer in ANYTHING:
        return ""
    if not rest or (len(rest) == 1 and rest[0].startswith("__")):
        return ""  # barfit itself: its version
    if rest[0] == layer:
        return ""
    allowed = MAY_IMPORT[layer] | ALSO.get(where, set())
    inside = {".".join(rest[: depth + 1]) for depth in range(len(rest))}
    return "" if inside & allowed else f"{where} may not import {name}"


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_module_keeps_to_its_layer(path: Path) -> None:
    layer = layer_of(path)
    assert layer in MAY_IMPORT or layer in ANYTHING, f"{layer} is not in the table of layers"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert not [why for name in imports(tree) if (why := breach(path, name))]


def test_ui_is_only_imported_by_the_command_line_and_there_only_inside_a_function() -> None:
    for path in modules():
        if layer_of(path) == "ui":
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = [name for name in imports(tree) if name.startswith("barfit.ui")]
        assert not names or layer_of(path) == "cli", f"{path} imports {names}"
        at_top = ast.Module([node for node in tree.body if _is_import(node)], [])
        heavy = ("barfit.ui", "barfit.scene", "pyvista", "PySide6", "vtkmodules")
        if layer_of(path) in ("cli", "commands"):
            assert not [name for name in imports(at_top) if name.startswith(heavy)]


def test_a_wheel_carries_every_package() -> None:
    listed = tomllib.loads((ROOT.parent / "pyproject.toml").read_text(encoding="utf-8"))
    here = {".".join(p.parent.relative_to(ROOT.parent).parts) for p in ROOT.rglob("__init__.py")}
    assert here <= set(listed["tool"]["setuptools"]["packages"])


def _is_import(node: ast.stmt) -> bool:
    return isinstance(node, ast.Import | ast.ImportFrom)


@pytest.mark.parametrize(
    ("where", "name"),
    [
        ("mechanics/rod.py", "barfit.model.Line"),
        ("mechanics/rod.py", "barfit.geometry.pose.layout"),
        ("geometry/bar.py", "barfit.model.Bar"),
        ("geometry/grid.py", "numba"),
        ("geometry/solids.py", "vtkmodules.vtkCommonCore"),
        ("model.py", "barfit.units.parse_length"),
        ("scenario/reading.py", "barfit.geometry.pose.layout"),
        ("session/session.py", "barfit.ui.app"),
        ("history.py", "barfit.session.Session"),
        ("recovery.py", "PySide6.QtCore"),
        ("session/session.py", "barfit.scene.Scene"),
        ("scene/scene.py", "PySide6.QtWidgets"),
        ("ui/window.py", "pyvistaqt.QtInteractor"),
        ("cli.py", "pyvista"),
        ("report/table.py", "barfit.scenario.ScenarioError"),
    ],
)
def test_a_breach_is_noticed(where: str, name: str) -> None:
    assert breach(ROOT / where, name)


@pytest.mark.parametrize(
    ("where", "name"),
    [
        ("geometry/pose.py", "barfit.model.Machine"),
        ("geometry/parts.py", "barfit.model.Mesh"),
        ("mechanics/rod.py", "barfit.geometry.curve.arc_lengths"),
        ("ui/viewport.py", "pyvistaqt.QtInteractor"),
        ("scene/scene.py", "pyvista"),
        ("session/session.py", "barfit.report.sentences.sentence"),
        ("cli.py", "barfit.ui.app.run"),
    ],
)
def test_what_the_table_allows_is_not_a_breach(where: str, name: str) -> None:
    assert not breach(ROOT / where, name)
