"""Films, read back by a reader that is not the writer (PyAV, with libraries of its own)."""

from __future__ import annotations

import itertools
import math
import os
import signal
from dataclasses import replace
from pathlib import Path

import av
import numpy as np
import pytest

from barfit import analysis, cli, film
from barfit.analysis import Cancelled, LineFinding, Sweep, Verdict
from barfit.commands.film import FORKS
from barfit.model import EXACT, Setup
from barfit.report.captions import pose_caption
from barfit.scenario import save

SIZE = (320, 200)


@pytest.fixture(scope="module")
def small(cruiser: Setup) -> Setup:
    lines = (cruiser.line("throttle pull cable"), cruiser.line("front brake hose"))
    return replace(cruiser, lines=lines, uncertainty=EXACT)


@pytest.fixture(scope="module")
def swept(small: Setup) -> tuple[Sweep, tuple[LineFinding, ...]]:
    sweep = analysis.sweep(small, step=math.radians(8.0))
    return sweep, analysis.findings(sweep)


def pictures(path: Path) -> tuple[np.ndarray, float]:
    """The pictures (N, H, W, 3) of a film, and how many seconds they last."""
    with av.open(str(path)) as file:
        stream = file.streams.video[0]
        frames = list(file.decode(stream))
        rate = float(stream.average_rate)
    return np.array([one.to_ndarray(format="rgb24") for one in frames]), len(frames) / rate


def apart(a: np.ndarray, b: np.ndarray) -> float:
    """The share of the pixels that differ by more than an encoder's blur."""
    return float((np.abs(a.astype(int) - b.astype(int)).max(-1) > 40).mean())


@pytest.mark.gl
@pytest.mark.parametrize("ending", [".mp4", ".gif"])
def test_a_film_turns_lock_to_lock_and_ends_as_it_began(swept, tmp_path, ending):
    sweep, found = swept
    target = tmp_path / f"film{ending}"
    told: list[float] = []
    film.film(target, sweep, found, size=SIZE, seconds=1.0, progress=told.append)
    seen, seconds = pictures(target)
    count = {".mp4": 25, ".gif": 21}[ending]
    assert seen.shape == (count, SIZE[1], SIZE[0], 3)
    assert seconds == pytest.approx(1.0, abs=0.06)
    assert told[-1] == 1.0
    assert len(told) == count
    assert apart(seen[0], seen[-1]) < 0.002
    left, middle, right = seen[count // 4], seen[count // 2], seen[-1 - count // 4]
    assert apart(seen[0], middle) < 0.002  # straight ahead again
    for one, other in ((seen[0], left), (seen[0], right), (left, right)):
        assert apart(one, other) > 0.02
    # it moves all the while: no pose stands still between straight ahead and lock
    assert all(apart(a, b) > 0.002 for a, b in itertools.pairwise(seen[:5]))
    assert os.listdir(tmp_path) == [target.name]


def test_the_fork_bounces_at_both_locks(swept):
    sweep, _ = swept
    machine = sweep.setup.machine
    path = film.poses(sweep, 10.0, 25.0, film.Fork.BOUNCE)
    assert len(path) == pytest.approx(250, abs=4)
    moved = path[path[:, 1] != 0.0]
    assert {*moved[:, 0]} == {sweep.angles[0], sweep.angles[-1]}
    for lock in (sweep.angles[0], sweep.angles[-1]):
        travels = path[path[:, 0] == lock][:, 1]
        assert travels.min() == pytest.approx(-machine.sag)
        assert travels.max() == pytest.approx(machine.travel - machine.sag)
    assert (path[[0, -1]] == 0.0).all()
    # no jump: neither in the turn nor in the travel
    steps = np.abs(np.diff(path, axis=0)).max(axis=0)
    assert steps[0] < math.radians(2.5)
    assert steps[1] <= 75.0 * math.pi / 24  # a sine of 75 mm in 24 steps, at its steepest


@pytest.mark.gl
def test_the_fork_is_seen_extended_and_a_film_may_have_no_words(swept, tmp_path):
    sweep, found = swept
    looks = {"size": SIZE, "seconds": 1.0, "view": "left"}
    kinds = {
        "ride": {},
        "extended": {"fork": film.Fork.EXTENDED},
        "wordless": {"captions": False},
    }
    first = {}
    for name, asked in kinds.items():
        film.film(tmp_path / f"{name}.gif", sweep, found, **looks, **asked)  # type: ignore[arg-type]
        first[name] = pictures(tmp_path / f"{name}.gif")[0][0]
    assert apart(first["ride"], first["extended"]) > 0.01
    assert apart(first["ride"], first["wordless"]) > 0.002
    top = SIZE[1] // 3  # words stand at an edge, the machine is the same
    assert apart(first["ride"][top : 2 * top], first["wordless"][top : 2 * top]) < 0.002


@pytest.mark.gl
def test_the_stock_bars_are_seen_behind_where_asked(small, swept, tmp_path):
    sweep, found = swept
    stock = analysis.sweep(small, stock=True, step=math.radians(8.0))
    for name, ghost in (("plain.gif", None), ("ghost.gif", stock)):
        film.film(
            tmp_path / name, sweep, found, size=SIZE, seconds=1.0, view="rider", stock_ghost=ghost
        )
    plain, ghosts = (pictures(tmp_path / name)[0] for name in ("plain.gif", "ghost.gif"))
    assert apart(plain[5], ghosts[5]) > 0.005


def test_the_turn_reaches_each_lock_and_passes_every_pose_twice(swept):
    sweep, _ = swept
    turns = film.turns(sweep, 8.0, 25)
    assert len(turns) == 201
    assert turns[0] == turns[-1] == 0.0
    assert turns.max() == pytest.approx(sweep.angles[-1])
    assert turns.min() == pytest.approx(sweep.angles[0])
    assert np.array_equal(turns[:101], turns[100::-1])
    assert np.abs(np.diff(turns)).max() < math.radians(3.0)


@pytest.mark.gl
def test_a_film_given_up_leaves_nothing(swept, tmp_path):
    sweep, found = swept
    calls = iter(range(100))
    with pytest.raises(Cancelled):
        film.film(
            tmp_path / "film.mp4", sweep, found, size=SIZE, cancelled=lambda: next(calls) >= 3
        )
    assert os.listdir(tmp_path) == []


@pytest.mark.gl
def test_an_encoder_that_stops_early_is_no_film(swept, tmp_path, monkeypatch):
    sweep, found = swept
    real = film._encoder

    def forgetful(*given: object):
        encoder = real(*given)
        encoder.send(None)
        yield
        for _ in range(10):
            encoder.send((yield))
        encoder.close()
        while True:
            yield

    monkeypatch.setattr(film, "_encoder", forgetful)
    with pytest.raises(film.FilmError, match="only 10 of 25 pictures could be written"):
        film.film(tmp_path / "film.mp4", sweep, found, size=SIZE, seconds=1.0)
    assert os.listdir(tmp_path) == []


def test_captions_name_the_worst_line_there(swept):
    _, found = swept
    first, second = (finding.line for finding in found)

    def said(a: float, b: float, unit: str = "mm") -> str:
        return pose_caption(math.radians(24.0), 0.0, {first: a, second: b}, {}, found, unit)

    assert said(40.0, -31.2) == f"24° left  ·  {second}: 31 mm too short"
    assert said(8.0, 60.0) == (
        f"24° left  ·  {first}: only 8 mm of slack, should keep {found[0].least:.0f} mm"
    )
    assert said(40.0, 80.0) == f"24° left  ·  least to spare: {first}, 40 mm of slack"
    assert said(math.nan, -10.0).endswith(f"{second}: 10 mm too short  ·  not known: {first}")
    assert said(math.nan, math.nan).endswith("not known: 2 lines")
    assert pose_caption(0.0, 0.0, {}, {}, found, "mm").startswith("Straight ahead")


def test_a_line_bent_too_tightly_comes_before_one_that_is_only_marginal(swept):
    _, found = swept
    marginal, bent = (
        found[0],
        replace(found[1], verdict=Verdict.BEND_TOO_TIGHT, allowed_radius=50.0),
    )

    def said(slack: float, radius: float, verdict: Verdict = Verdict.BEND_TOO_TIGHT) -> str:
        slacks, radii = {marginal.line: slack, bent.line: 90.0}, {bent.line: radius}
        judged = marginal, replace(bent, verdict=verdict)
        return pose_caption(0.0, 0.0, slacks, radii, judged, "mm").partition("  ·  ")[2]

    assert said(5.0, 41.0) == f"{bent.line}: bend 41 mm, least 50 mm"
    assert said(5.0, 60.0).startswith(f"{marginal.line}: only 5 mm")
    assert said(-5.0, 41.0) == f"{marginal.line}: 5 mm too short"
    assert said(5.0, 41.0, Verdict.REACHES).startswith(f"{marginal.line}: only 5 mm")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["-o", "out.avi"], "out.avi: a film is written as MP4 or GIF; end its name in .mp4 or"),
        (["--size", "big"], "--size big: is not a size; give width x height in pixels: 1280x720."),
        (["--size", "641x360"], "641x360 is no size for a film: both have to be even numbers."),
        (["--size", "80x60"], "80x60 is no size for a film: 160 to 3840 pixels either way."),
        (["--seconds", "0"], "0 seconds is outside 1 to 120."),
        (["--seconds", "nan"], "nan seconds is outside 1 to 120."),
        (["--fork", "up"], "--fork up: is not known; known: ride-height, extended, compressed, bo"),
        (["small.toml", "other/small.toml"], "Two of the files have the same name; write their f"),
        (["--view", "up"], "--view up: is not a view; known: "),
        (["--stock", "--stock-ghost"], "leave out --stock-ghost."),
        (["-o", "no/a.mp4"], "no/a.mp4: there is no folder no."),
    ],
)
def test_films_that_cannot_be(capsys, monkeypatch, tmp_path, small, words, said):
    monkeypatch.chdir(tmp_path)
    save(small, tmp_path / "small.toml")
    assert cli.run(["film", "small.toml", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert said in err
    assert os.listdir(tmp_path) == ["small.toml"]


def test_the_forks_of_the_command_are_those_of_films():
    assert tuple(FORKS) == tuple(fork.value for fork in film.Fork)


def test_a_folder_is_filmed_one_by_one_and_bad_files_are_told_at_the_end(
    capsys, monkeypatch, tmp_path, small
):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "in").mkdir()
    (tmp_path / "out").mkdir()
    save(small, tmp_path / "in" / "b.toml")
    save(replace(small, title="Third"), tmp_path / "in" / "c.toml")
    (tmp_path / "in" / "a.toml").write_text("format = \n")
    made = []

    def written(target, swept, findings, **looks):
        if swept.setup.title == "Third":
            raise film.FilmError("the disk is full.")
        made.append((target, looks["fork"], looks["captions"]))

    monkeypatch.setattr(film, "film", written)
    words = ["--fork", "bounce", "--no-captions", "-o", "out"]
    assert cli.run(["film", "in", *words]) == 2
    out, err = capsys.readouterr()
    assert made == [(Path("out", "b.mp4"), film.Fork.BOUNCE, False)]
    assert out.startswith(f"Wrote {Path('out', 'b.mp4')}: ")
    a, c = os.path.join("in", "a.toml"), os.path.join("in", "c.toml")
    assert f"{c}: the disk is full." in err
    assert err.endswith(f"2 of 3 files could not be used: {a}, {c}.\n")


@pytest.mark.gl
@pytest.mark.gl
def test_stopping_is_asked_for_between_pictures_and_leaves_nothing(
    capsys, monkeypatch, tmp_path, small
):
    monkeypatch.chdir(tmp_path)
    save(replace(small, lines=small.lines[:1]), tmp_path / "small.toml")
    asked = []

    def pressed(frames):
        for pixels in frames:
            if not asked:
                signal.raise_signal(signal.SIGINT)  # as in the middle of drawing
            asked.append(pixels)
            yield pixels

    drawn = film._frames
    monkeypatch.setattr(film, "_frames", lambda *words: pressed(drawn(*words)))
    before = signal.getsignal(signal.SIGINT)
    words = ["-o", "a.mp4", "--seconds", "1", "--size", "160x160"]
    assert cli.run(["film", "small.toml", *words]) == 130
    assert capsys.readouterr().err == "Stopped.\n"
    assert len(asked) == 1
    assert os.listdir(tmp_path) == ["small.toml"]
    assert signal.getsignal(signal.SIGINT) is before


def test_the_command_writes_a_film(capsys, monkeypatch, tmp_path, small):
    monkeypatch.chdir(tmp_path)
    save(replace(small, lines=small.lines[:1]), tmp_path / "small.toml")
    words = ["--size", "320x200", "--seconds", "1", "--stock-ghost"]
    assert cli.run(["film", "small.toml", *words]) == 0
    assert capsys.readouterr().out == (
        f"Wrote small.mp4: {small.title}, lock to lock and back in 1 s.\n"
    )
    assert len(pictures(tmp_path / "small.mp4")[0]) == 25
