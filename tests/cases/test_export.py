"""The designer's data, read back by others' readers: csv, numpy and an independent glTF loader."""

from __future__ import annotations

import csv
import math
import os
import struct
from dataclasses import replace

import numpy as np
import pygltflib
import pytest

from barfit import analysis, cli
from barfit.analysis import LineSweep, Sweep
from barfit.catalogue import scenario_dir
from barfit.export import write_csv, write_npz
from barfit.model import EXACT, Setup
from barfit.scenario import save
from barfit.scene import VIEWS
from barfit.scene.gltf import SIDES, scene_glb


@pytest.fixture(scope="module")
def small(cruiser: Setup) -> Setup:
    lines = (cruiser.line("throttle pull cable"), cruiser.line("front brake hose"))
    return replace(cruiser, lines=lines, uncertainty=EXACT)


@pytest.fixture(scope="module")
def swept(small: Setup) -> Sweep:
    return analysis.sweep(small, step=math.radians(20.0))


def rows(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_tables_hold_every_pose_and_point(swept, tmp_path):
    write_csv(swept, tmp_path / "out")
    numbers, points = (rows(tmp_path / "out" / f"{name}.csv") for name in ("sweep", "centrelines"))
    assert len(numbers) == sum(line.slack.size for line in swept.lines)
    assert len(points) == sum(int(line.converged.sum()) * len(line.arc) for line in swept.lines)
    hose = swept.lines[1]
    mine = [row for row in numbers if row["line"] == hose.name]
    slack = np.array([float(row["slack (mm)"]) for row in mine]).reshape(hose.slack.shape)
    assert slack == pytest.approx(hose.slack, abs=1e-3)
    turns = [float(row["turn (deg)"]) for row in mine][: len(swept.angles)]
    assert turns == pytest.approx(np.degrees(swept.angles), abs=1e-3)
    last = [row for row in points if row["line"] == hose.name][-len(hose.arc) :]
    told = np.array([[float(row[f"{axis} (mm)"]) for axis in "xyz"] for row in last])
    assert told == pytest.approx(hose.shapes[-1, -1], abs=1e-3)


def test_what_is_not_known_is_empty(swept, tmp_path):
    line = swept.lines[0]
    good = line.converged.copy()
    good[0, 0] = False
    lost = np.where(good, 0.0, np.nan)
    broken: LineSweep = replace(line, converged=good, slack=line.slack + lost)
    write_csv(replace(swept, lines=(broken,)), tmp_path)
    first = rows(tmp_path / "sweep.csv")[0]
    assert (first["slack (mm)"], first["known (1 or 0)"]) == ("", "0")
    turn = float(rows(tmp_path / "centrelines.csv")[0]["turn (deg)"])
    assert turn == pytest.approx(math.degrees(swept.angles[1]), abs=1e-3)


def test_arrays_are_read_with_numpy_alone(swept, tmp_path):
    write_npz(swept, tmp_path / "sweep.npz")
    with np.load(tmp_path / "sweep.npz", allow_pickle=False) as data:
        assert data["lines"].tolist() == [line.name for line in swept.lines]
        assert np.array_equal(data["turns_rad"], swept.angles)
        for number, line in enumerate(swept.lines):
            assert np.array_equal(data[f"line{number:02d}_slack_mm"], line.slack, equal_nan=True)
            good = line.converged
            shapes = data[f"line{number:02d}_centrelines_mm"]
            assert np.array_equal(shapes[good], line.shapes[good])
        assert all(name.split("_", 1)[1] in str(data["about"]) for name in data if "line0" in name)


def accessor(file: pygltflib.GLTF2, number: int) -> np.ndarray:
    """The numbers of an accessor (N, 3 or 4), by the specification's tables."""
    one = file.accessors[number]
    view = file.bufferViews[one.bufferView]
    start = (view.byteOffset or 0) + (one.byteOffset or 0)
    width = {"VEC3": 3, "VEC4": 4, "SCALAR": 1}[one.type]
    letter = {5126: "f", 5121: "B", 5125: "I"}[one.componentType]
    count = one.count * width
    size = struct.calcsize(f"<{count}{letter}")
    flat = struct.unpack(f"<{count}{letter}", file.binary_blob()[start : start + size])
    return np.array(flat).reshape(one.count, width)


def placed(file: pygltflib.GLTF2, name: str) -> np.ndarray:
    """Where the points (N, 3) of the node of that name are, with all its parents' matrices."""
    (number,) = [k for k, node in enumerate(file.nodes) if node.name == name]
    points = accessor(file, file.meshes[file.nodes[number].mesh].primitives[0].attributes.POSITION)
    while number is not None:
        matrix = file.nodes[number].matrix
        if matrix:
            turned = np.array(matrix).reshape(4, 4).T
            points = points @ turned[:3, :3].T + turned[:3, 3]
        number = next((k for k, n in enumerate(file.nodes) if number in (n.children or [])), None)
    return points


@pytest.mark.parametrize("pose", [0, 2])
def test_the_model_has_every_line_where_the_sweep_has_it(swept, tmp_path, pose):
    turn = float(swept.angles[pose])
    (tmp_path / "scene.glb").write_bytes(scene_glb(swept, turn))
    file = pygltflib.GLTF2().load(str(tmp_path / "scene.glb"))
    assert file.asset.version == "2.0"
    for line in swept.lines:
        row = int(np.abs(line.travels).argmin())
        points = placed(file, line.name)
        assert len(points) == SIDES * len(line.arc)
        middle = points.reshape(-1, SIDES, 3).mean(axis=1)
        x, y, z = line.shapes[row, pose].T / 1000.0  # forward, left, up; metres
        # glTF 2.0, 3.4: "+Y as up", forward is +Z, and -X is right
        assert middle == pytest.approx(np.column_stack((y, z, x)), abs=2e-6)
        around = np.linalg.norm(points.reshape(-1, SIDES, 3) - middle[:, None], axis=-1)
        assert around == pytest.approx(swept.setup.line(line.name).diameter / 2000.0, abs=2e-6)
    names = {node.name for node in file.nodes}
    assert {line.name for line in swept.lines} < names
    assert any(name.startswith("bars: steering") for name in names if name)
    fork = placed(file, "machine: lower fork, tyre")
    assert fork[:, 1].min() < -0.5  # the wheel is below the top clamp: y is up


def test_a_line_that_is_not_known_there_is_left_out(swept, tmp_path):
    line = swept.lines[0]
    lost = replace(line, converged=np.zeros_like(line.converged))
    (tmp_path / "a.glb").write_bytes(scene_glb(replace(swept, lines=(lost, swept.lines[1]))))
    names = {node.name for node in pygltflib.GLTF2().load(str(tmp_path / "a.glb")).nodes}
    assert line.name not in names
    assert swept.lines[1].name in names


def test_the_command_writes_all_three(capsys, monkeypatch, tmp_path, small):
    monkeypatch.chdir(tmp_path)
    save(replace(small, lines=small.lines[:1]), tmp_path / "small.toml")
    words = ["--csv", "data", "--npz", "a.npz", "--gltf", "a.glb", "--turn", "24 right"]
    assert cli.run(["export", "small.toml", *words]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"Wrote {os.path.join('data', 'sweep.csv')}.",
        f"Wrote {os.path.join('data', 'centrelines.csv')}.",
        "Wrote a.npz.",
        "Wrote a.glb (24° right).",
    ]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "Say what to write: --csv DIR, --npz NPZ or --gltf GLB."),
        (["--npz", "a.npy"], "a.npy: a NumPy file is written as NPZ; end its name in .npz."),
        (["--gltf", "a.obj"], "a.obj: a model is written as GLB; end its name in .glb."),
        (["--gltf", "no/a.glb"], "there is no folder no."),
        (["--csv", "small.toml"], "small.toml is a file; name a folder for the tables."),
        (["--gltf", "a.glb", "--turn", "60"], "--turn 60: the bar turns from 40° right to"),
    ],
)
def test_exports_that_cannot_be(capsys, monkeypatch, tmp_path, small, words, said):
    monkeypatch.chdir(tmp_path)
    save(small, tmp_path / "small.toml")
    assert cli.run(["export", "small.toml", *words]) == 2
    assert said in capsys.readouterr().err
    assert os.listdir(tmp_path) == ["small.toml"]


def test_a_folder_is_exported_file_by_file(capsys, monkeypatch, tmp_path, small):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    one = replace(small, lines=small.lines[:1])
    for name in ("b", "c"):
        save(one, tmp_path / "in" / f"{name}.toml")
    (tmp_path / "in" / "a.toml").write_text("rubbish")
    words = ["--csv", "data", "--npz", "out", "--gltf", "out"]
    assert cli.run(["export", "in", *words]) == 2
    out, err = capsys.readouterr()
    assert "1 of 3 files could not be used: " in err
    written = ["sweep.csv", "centrelines.csv", "b.npz", "b.glb", "c.npz", "c.glb"]
    for name in written:
        assert name in out
    assert sorted(os.listdir(tmp_path / "data")) == ["b", "c"]
    assert sorted(os.listdir(tmp_path / "data" / "c")) == ["centrelines.csv", "sweep.csv"]
    assert sorted(os.listdir(tmp_path / "out")) == ["b.glb", "b.npz", "c.glb", "c.npz"]
    assert cli.run(["export", "in", "--npz", "all.npz"]) == 2
    assert "all.npz is one file for 3 NumPy files; name a folder that is there." in (
        capsys.readouterr().err
    )


def test_every_column_and_array_is_explained(swept, tmp_path):
    page = (scenario_dir() / "FORMAT.md").read_text(encoding="utf-8")
    for path in write_csv(swept, tmp_path):
        assert f"`{path.name}`" in page
        with path.open(encoding="utf-8", newline="") as file:
            assert not [name for name in next(csv.reader(file)) if f"`{name}`" not in page]
    write_npz(swept, tmp_path / "sweep.npz")
    with np.load(tmp_path / "sweep.npz", allow_pickle=False) as data:
        names = {name.replace("line00", "line03") for name in data if not name.startswith("line01")}
        assert not [name for name in names if f"`{name}`" not in page]


def test_help_names_every_view(capsys):
    assert cli.run(["film", "--help"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert all(view in told for view in VIEWS)
