"""Mesh files in a scenario: read, refused with a sentence, and still found after saving."""

from __future__ import annotations

import math
import pickle
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh

from barfit.geometry.parts import mesh_triangles, shape_distance
from barfit.model import FileUnit, Mesh, Setup
from barfit.scenario import ScenarioError, dumps, load, loads, save
from barfit.scenario.meshes import MOST_TRIANGLES

CRUISER = (Path(__file__).parent.parent / "data" / "cruiser.toml").read_text(encoding="utf-8")
SOLID = "[machine.solids.cowl]\nrole = 'fairing'\non = 'steering'\nmesh = {}\n\n# ---- Bars"
HERE = '{ file = "cowl.stl", unit = "mm", position = [95, 0, "2 in"], pitch = 8, yaw = -3 }'


def text(mesh: str = HERE) -> str:
    return CRUISER.replace("# ---- Bars", SOLID.replace("{}", mesh), 1)


def cowl(setup: Setup) -> Mesh:
    shape = next(s.shape for s in setup.machine.solids if s.name == "cowl")
    assert isinstance(shape, Mesh)
    return shape


def box() -> trimesh.Trimesh:
    return trimesh.creation.box(extents=[120.0, 60.0, 90.0])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    box().export(tmp_path / "cowl.stl")
    (tmp_path / "one.toml").write_text(text(), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("kind", ["stl", "stl_ascii", "obj", "ply"])
def test_every_kind_of_file_gives_the_same_solid(tmp_path: Path, kind: str) -> None:
    file = tmp_path / f"cowl.{kind.partition('_')[0]}"
    box().export(file, file_type=kind)
    setup = loads(text(HERE.replace("cowl.stl", file.name)), folder=tmp_path)
    shape = cowl(setup)
    assert shape.position == pytest.approx((95.0, 0.0, 50.8))
    assert (shape.pitch, shape.yaw) == pytest.approx((math.radians(8), math.radians(-3)))
    points, faces = mesh_triangles(shape)
    assert len(points) == 8
    assert len(faces) == 12
    yaw = math.radians(-3)
    beside = np.array(shape.position) + 40.0 * np.array([-math.sin(yaw), math.cos(yaw), 0.0])
    assert shape_distance(shape, [beside]) == pytest.approx([10.0], abs=1e-3)


@pytest.mark.parametrize(
    ("unit", "factor"), [("mm", 1.0), ("cm", 10.0), ("m", 1000.0), ("in", 25.4)]
)
def test_the_unit_of_the_file(tmp_path: Path, unit: str, factor: float) -> None:
    made = box()
    made.apply_scale(1.0 / factor)
    made.export(tmp_path / "cowl.ply")  # PLY keeps more digits than binary STL
    setup = loads(text(f'{{ file = "cowl.ply", unit = "{unit}" }}'), folder=tmp_path)
    points, _ = mesh_triangles(cowl(setup))
    assert np.ptp(points, axis=0) == pytest.approx([120.0, 60.0, 90.0], rel=1e-6)


def test_a_surface_that_is_inside_out_is_turned_right(tmp_path: Path) -> None:
    made = box()
    made.invert()
    made.export(tmp_path / "cowl.stl")
    shape = cowl(loads(text(), folder=tmp_path))
    assert shape_distance(shape, [shape.position])[0] < 0.0


def bytes_of(made: trimesh.Trimesh) -> bytes:
    return made.export(file_type="stl")


def with_a_hole() -> bytes:
    made = box()
    made.update_faces(np.arange(12) != 5)
    return bytes_of(made)


def with_one_face_turned() -> bytes:
    made = box()
    made.faces[3] = made.faces[3][::-1]
    return bytes_of(made)


def with_a_fin() -> bytes:
    made = box()
    corner = made.vertices[made.faces[0]]
    fin = trimesh.Trimesh(
        [*corner[:2], corner[:2].mean(axis=0) + np.array([1.0, 200.0, 3.0])],
        [[0, 1, 2]],
        process=False,
    )
    return bytes_of(trimesh.util.concatenate([made, fin]))


def with_a_cavity() -> bytes:
    inner = trimesh.creation.box(extents=[20.0, 20.0, 20.0])
    inner.invert()
    return bytes_of(trimesh.util.concatenate([box(), inner]))


def with_too_many() -> bytes:
    count = MOST_TRIANGLES + 1
    return bytes(80) + count.to_bytes(4, "little") + bytes(50 * count)


def of_numbers_that_are_none() -> bytes:
    made = box()
    made.vertices[0, 0] = np.nan
    return bytes_of(made)


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (with_a_hole(), "'cowl.stl' is not closed: 3 edges without a neighbour, one near ["),
        (with_one_face_turned(), "'cowl.stl' has triangles that face the other way than"),
        (with_a_fin(), "'cowl.stl' has 1 edge where more than two triangles meet, one near ["),
        (with_a_cavity(), "has 2 separate pieces, of which one near ["),
        (with_too_many(), "'cowl.stl' has 50001 triangles; at most 50000 are read"),
        (of_numbers_that_are_none(), "'cowl.stl' has corners whose places are not numbers"),
        (b"", "'cowl.stl' holds no triangles"),
        (b"hello", "'cowl.stl' holds no triangles"),
        (b"solid x\nfacet normal 0 0 1\nouter loop\nvertex a b c\n", "'cowl.stl' "),
        (bytes_of(box().apply_scale(0.01)), "is 1.2 mm long when its numbers are mm"),
        (bytes_of(box().apply_scale(100.0)), "is 1.2e+04 mm long when its numbers are mm"),
    ],
)
def test_a_surface_that_cannot_be_used(tmp_path: Path, content: bytes, message: str) -> None:
    (tmp_path / "cowl.stl").write_bytes(content)
    with pytest.raises(ScenarioError) as refused:
        loads(text(), folder=tmp_path)
    told = str(refused.value)
    assert "machine.solids.cowl.mesh.file: " in told
    assert message in told
    assert "Traceback" not in told


@pytest.mark.parametrize(
    ("mesh", "message"),
    [
        ('{ file = "cowl.stl" }', "machine.solids.cowl.mesh: 'unit' is missing"),
        ('{ unit = "mm" }', "machine.solids.cowl.mesh: 'file' is missing"),
        ('{ file = "cowl.stl", unit = "furlong" }', "mesh.unit: 'furlong' is not one of the words"),
        ('{ file = "cowl.step", unit = "mm" }', "'cowl.step' is not a kind of mesh read here"),
        ('{ file = "cow.stl", unit = "mm" }', "cow.stl' does not exist; did you mean 'cowl.stl'?"),
        ('{ file = "none/x.ply", unit = "mm" }', "x.ply' does not exist; a name counts from"),
        ('{ file = "folder.stl", unit = "mm" }', "folder.stl' is a folder"),
        ('{ file = "big.stl", unit = "mm" }', "big.stl' is 51 MB; at most 50 MB are read"),
        ('{ file = "bad.ply", unit = "mm" }', "'bad.ply' is not a PLY file that can be read: "),
        ('{ file = "cowl.stl", unit = "mm", yaw = 200 }', "200° is outside -180° to 180°"),
        ('{ file = "cowl.stl", unit = "mm", roll = 2 }', "mesh: unknown key 'roll'"),
    ],
)
def test_bad_tables_and_files(folder: Path, mesh: str, message: str) -> None:
    (folder / "folder.stl").mkdir()
    (folder / "bad.ply").write_bytes(b"not that")
    with (folder / "big.stl").open("wb") as big:
        big.truncate(51_000_000)
    with pytest.raises(ScenarioError) as refused:
        loads(text(mesh), folder=folder)
    assert message in str(refused.value)


def test_a_mistake_in_a_mesh_hides_no_other(folder: Path) -> None:
    wrong = text('{ file = "no.stl", unit = "mm" }').replace("rake = 30", "rake = 300")
    with pytest.raises(ScenarioError) as refused:
        loads(wrong, folder=folder)
    assert len(refused.value.problems) == 2


def test_it_comes_back_as_it_was(folder: Path) -> None:
    setup = load(folder / "one.toml")
    assert dumps(setup) == text()
    fresh = dumps(replace(setup, source=""))
    assert 'file = "cowl.stl"' in fresh
    assert loads(fresh, folder=folder) == setup
    assert pickle.loads(pickle.dumps(setup)) == setup
    assert hash(cowl(setup)) == hash(cowl(load(folder / "one.toml")))


def test_only_what_changed_is_rewritten(folder: Path) -> None:
    setup = load(folder / "one.toml")
    moved = replace(cowl(setup), position=(90.0, 0.0, 50.8))
    solids = tuple(replace(s, shape=moved) if s.name == "cowl" else s for s in setup.machine.solids)
    setup = replace(setup, machine=replace(setup.machine, solids=solids))
    assert dumps(setup) == text(HERE.replace('[95, 0, "2 in"]', "[90, 0, 50.8]"))


def test_saved_elsewhere_it_still_finds_its_mesh(folder: Path) -> None:
    setup = load(folder / "one.toml")
    (folder / "below").mkdir()
    save(setup, folder / "below" / "two.toml")
    saved = (folder / "below" / "two.toml").read_text(encoding="utf-8")
    assert saved == text(HERE.replace("cowl.stl", "../cowl.stl"))
    again = load(folder / "below" / "two.toml")
    assert cowl(again).surface == cowl(setup).surface
    # and from there back
    save(again, folder / "three.toml")
    assert (folder / "three.toml").read_text(encoding="utf-8") == text()


def test_saving_does_not_need_the_file_any_more(folder: Path) -> None:
    setup = replace(load(folder / "one.toml"), title="Another")
    trimesh.creation.icosphere(radius=40.0).export(folder / "cowl.stl")
    assert 'title = "Another"' in dumps(setup)
    (folder / "cowl.stl").unlink()
    save(setup, folder / "one.toml")
    with pytest.raises(ScenarioError, match=r"cowl\.stl' does not exist"):
        load(folder / "one.toml")


def test_a_name_in_full_stays_as_it_is(folder: Path) -> None:
    full = (folder / "cowl.stl").as_posix()
    setup = loads(text(f'{{ file = "{full}", unit = "mm" }}'))
    assert cowl(setup) == replace(
        cowl(setup), file=full, unit=FileUnit.MILLIMETRE, position=(0.0, 0.0, 0.0)
    )
    save(setup, folder / "four.toml")
    assert cowl(load(folder / "four.toml")).file == full
