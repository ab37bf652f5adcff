"""The commands, from the words typed to what is printed and the exit status."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import barfit
from barfit import cli, display
from barfit.commands import shared
from barfit.model import EXACT, Setup
from barfit.scenario import loads, save

FEW = 2  # lines are enough to see what a command does; the whole files have tests of their own


@pytest.fixture(scope="module")
def small(cruiser: Setup, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A machine with two lines; neither reaches with the new bars."""
    lines = (cruiser.line("throttle pull cable"), cruiser.line("front brake hose"))
    path = tmp_path_factory.mktemp("files") / "small.toml"
    save(replace(cruiser, lines=lines), path)
    return path


@pytest.fixture
def bad(cruiser: Setup, tmp_path: Path) -> Path:
    path = tmp_path / "bad.toml"
    text = cruiser.source.replace("rake = 30", "rake = nan").replace(
        "lock_left = 40", "lock_left=90"
    )
    path.write_text(text)
    return path


@pytest.fixture(autouse=True)
def _plain(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("COLUMNS", "NO_COLOR", "FORCE_COLOR"):
        monkeypatch.delenv(name, raising=False)


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of a command."""
    status = cli.run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, out, err


def told(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    """The one sentence told about bad input."""
    status, out, err = run(capsys, *words)
    assert (status, out) == (2, "")
    return err.strip()


# --- check -------------------------------------------------------------------------------------


def test_check_prints_a_table_and_a_sentence_for_each_line_that_does_not_fit(
    capsys: pytest.CaptureFixture[str], small: Path
) -> None:
    status, out, err = run(capsys, "check", small)
    assert status == 1
    assert err == ""
    for heading in ("Line", "Verdict", "Installed", "Needed", "Margin", "Worst at", "Min. radius"):
        assert heading in out
    row = r"throttle pull cable +short +795 +\d+(–\d+)? +-\d+ ± \d+ +40° right +\d+ / 50"
    assert re.search(row, out)
    assert "tall, 14 in rise on stock riser" in out
    assert re.search(
        r"^Front brake hose needs \d+ mm more \(\d+ mm altogether\): "
        r"its slack at every turn is -\d+ mm\.$",
        out,
        re.MULTILINE,
    )
    assert out.count("service manual") == 1


def test_check_of_stock_bars_that_fit(
    capsys: pytest.CaptureFixture[str], cruiser: Setup, tmp_path: Path
) -> None:
    known = replace(cruiser, lines=(cruiser.line("throttle pull cable"),), uncertainty=EXACT)
    save(known, tmp_path / "one.toml")
    status, out, _ = run(capsys, "check", tmp_path / "one.toml", "--stock")
    assert status == 0
    assert "The line fits." in out
    assert "stock bars: stock cruiser bend" in out


def test_compare_shows_both_and_answers_for_the_new_bars(
    capsys: pytest.CaptureFixture[str], small: Path
) -> None:
    status, out, _ = run(capsys, "check", small, "--compare")
    assert status == 1
    assert "Stock bars" in out
    assert "New bars" in out
    assert re.search(
        r"throttle pull cable +795 +[a-z ]+ +[+-]?\d+ ± \d+ +short +-\d+ ± \d+ +\d+", out
    )


def test_json_is_for_programs(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    status, out, err = run(capsys, "check", small, "--json")
    assert status == 1
    assert err == ""
    data = json.loads(out)
    assert data["result_format"] == 2
    assert data["title"] == "Tall bar on a cable-clutch cruiser"
    (bars,) = data["bars"]
    assert bars["bars"] == "new"
    assert bars["fits"] is False
    assert [line["line"] for line in bars["lines"]] == ["throttle pull cable", "front brake hose"]
    throttle = bars["lines"][0]
    assert throttle["verdict"] == "short"
    assert throttle["margin"] == pytest.approx(throttle["installed"] - throttle["needed"], abs=0.02)
    assert throttle["slack"] < 0 > throttle["margin"]
    assert abs(throttle["worst_turn"]) <= 40


def test_json_with_compare_holds_both(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    _, out, _ = run(capsys, "check", small, "--json", "--compare")
    assert [bars["bars"] for bars in json.loads(out)["bars"]] == ["stock", "new"]


def test_json_of_a_bad_file_holds_its_problems(
    capsys: pytest.CaptureFixture[str], bad: Path
) -> None:
    status, out, err = run(capsys, "check", bad, "--json")
    assert status == 2
    data = json.loads(out)
    assert [problem["place"] for problem in data["problems"]] == [
        "machine.rake",
        "machine.lock_left",
    ]
    assert "2 problems" in err


def test_a_bad_file_is_told_with_every_problem(
    capsys: pytest.CaptureFixture[str], bad: Path
) -> None:
    said = told(capsys, "check", bad)
    assert said.splitlines() == [
        f"{bad}: 2 problems",
        "  machine.rake: nan is not a usable number; an angle is a number of degrees, or a text "
        'like "24.5°" or "0.43 rad"',
        "  machine.lock_left: 90° is outside 5° to 80°; the steering of a motorcycle turns about "
        "25° to 45° to each side",
    ]


@pytest.mark.parametrize("command", ["check", "picture"])
def test_files_that_are_none(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, command: str
) -> None:
    assert told(capsys, command, tmp_path / "none.toml").endswith("none.toml does not exist")
    empty = tmp_path / "empty"
    empty.mkdir()
    assert told(capsys, command, empty).endswith(
        "there is no scenario file (.toml) in this folder."
    )
    broken = tmp_path / "broken.toml"
    broken.write_text("format = \n")
    assert "line 1, column 10: not TOML: invalid value" in told(capsys, command, broken)


def test_dimensions_no_bar_can_have(
    capsys: pytest.CaptureFixture[str], cruiser: Setup, tmp_path: Path
) -> None:
    path = tmp_path / "narrow.toml"
    path.write_text(cruiser.source.replace('width = "33 in"', "width = 400"))
    said = told(capsys, "check", path)
    assert said.startswith(str(path))
    assert "bar" in said


def test_a_control_beyond_the_bar(
    capsys: pytest.CaptureFixture[str], cruiser: Setup, tmp_path: Path
) -> None:
    path = tmp_path / "beyond.toml"
    path.write_text(cruiser.source.replace("inboard = 165", "inboard = 1400"))
    said = told(capsys, "check", path)
    assert "clutch perch" in said


HOSE = "front brake hose"


@pytest.fixture
def garage(bad: Path, cruiser: Setup, tmp_path: Path) -> Path:
    """A folder with a file that cannot be used, and after it one that can, with one line."""
    folder = tmp_path / "garage"
    folder.mkdir()
    (folder / "a.toml").write_bytes(bad.read_bytes())
    save(replace(cruiser, lines=(cruiser.line(HOSE),)), folder / "b.toml")
    return folder


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "--compare"], "The line does not fit."),
        (["check", "--bars"], "one set of bars; 0 of 1 stay"),
        (["check", "--routings", HOSE], f"{HOSE}: as it goes now (short)"),
        (["remedies", "--line", HOSE], f"one line to see to; nothing found for the {HOSE}"),
    ],
)
def test_of_a_folder_each_is_answered_in_a_line_whatever_is_wrong_with_another(
    capsys: pytest.CaptureFixture[str], garage: Path, words: list[str], said: str
) -> None:
    command, *options = words
    status, out, err = run(capsys, command, garage, *options)
    assert status == 2
    first, second = out.splitlines()
    assert first == f"{garage / 'a.toml'}: cannot be used"
    assert second.startswith(f"{garage / 'b.toml'}: ")
    assert said in second
    assert "machine.rake: nan is not a usable number" in err
    assert err.endswith(f"1 of 2 files could not be used: {garage / 'a.toml'}.\n")


@pytest.mark.parametrize(
    ("words", "key"),
    [
        (["check"], "bars"),
        (["check", "--bars"], "compared"),
        (["check", "--routings", HOSE], "routings"),
        (["remedies"], "lines"),
    ],
)
def test_json_of_a_folder_is_a_list_with_an_entry_for_each(
    capsys: pytest.CaptureFixture[str], garage: Path, words: list[str], key: str
) -> None:
    command, *options = words
    status, out, _ = run(capsys, command, garage, *options, "--json")
    assert status == 2
    first, second = json.loads(out)
    assert first["file"] == str(garage / "a.toml")
    assert first["problems"][0]["place"] == "machine.rake"
    assert second["file"] == str(garage / "b.toml")
    assert len(second[key]) == 1


def test_json_of_a_folder_with_one_file_is_a_list_too(
    capsys: pytest.CaptureFixture[str], garage: Path
) -> None:
    (garage / "a.toml").unlink()
    status, out, err = run(capsys, "check", garage, "--json")
    assert (status, err) == (1, "")
    assert [one["file"] for one in json.loads(out)] == [str(garage / "b.toml")]


def test_a_line_that_one_file_has_not_is_that_files_fault(
    capsys: pytest.CaptureFixture[str], small: Path, garage: Path
) -> None:
    status, out, err = run(capsys, "check", small, garage / "b.toml", "--routings", "clutch cable")
    assert status == 2
    assert out.splitlines() == [f"{file}: cannot be used" for file in (small, garage / "b.toml")]
    assert err.count("'clutch cable': is not a line of") == 2


@pytest.mark.parametrize(
    "command",
    ["check", "remedies", "order", "plan", "sheet", "film", "picture", "export"],
)
def test_help_shows_how_and_tells_the_exit_status(
    capsys: pytest.CaptureFixture[str], command: str
) -> None:
    status, out, _ = run(capsys, command, "--help")
    assert status == 0
    assert out.count(f"\n    barfit {command} ") >= 3  # examples
    assert re.search(r"\n +Exit status.*:\n +0  .*\n( +1  .*\n)? +2  ", out)
    assert "or a folder" in " ".join(out.split())


def test_compare_and_stock_exclude_each_other(
    capsys: pytest.CaptureFixture[str], small: Path
) -> None:
    assert "leave out --stock" in told(capsys, "check", small, "--compare", "--stock")


# --- picture -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ["--turn", "nan"],
            "--turn nan: is not an angle; give degrees like 24, -24 or '24 right'.",
        ),
        (["--turn", "inf"], "--turn inf: is not an angle"),
        (["--turn", "far"], "--turn far: is not an angle"),
        (["--turn", ""], "is not an angle"),
        (["--turn", "41"], "--turn 41: the bar turns from 40° right to 40° left."),
        (["--turn", "60 right"], "--turn 60 right: the bar turns from 40° right to 40° left."),
        (["--width", "5"], "--width 5 is outside 100 to 8000 pixels."),
        (["--height", "90000"], "--height 90000 is outside 100 to 8000 pixels."),
        (["--view", "up"], "--view up: is not a view; known: "),
        (["-o", "bike.jpg"], "bike.jpg: a picture is written as PNG; end its name in .png."),
        (["-o", "bike"], "bike: a picture is written as PNG"),
    ],
)
def test_pictures_that_cannot_be(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    small: Path,
    words: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert said in told(capsys, "picture", small, *words)
    assert os.listdir(tmp_path) == []


def test_targets_that_cannot_be_written(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, small: Path
) -> None:
    folder = tmp_path / f"{small.stem}.png"
    folder.mkdir()
    assert told(capsys, "picture", small, "-o", tmp_path) == (
        f"{folder} is a folder; name a file for the picture."
    )
    assert "there is no folder" in told(capsys, "picture", small, "-o", tmp_path / "no" / "a.png")


def test_a_target_that_refuses_at_the_end(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    small: Path,
) -> None:
    import barfit.scene

    monkeypatch.setattr(barfit.scene, "picture", lambda *_args, **_options: b"PNG")
    monkeypatch.setattr(Path, "write_bytes", _no_space)
    assert told(capsys, "picture", small, "-o", tmp_path / "a.png") == (
        f"{tmp_path / 'a.png'} cannot be written: No space left on device; make room there or name "
        "a place on another disk."
    )


def _no_space(_path: Path, _content: bytes) -> int:
    raise OSError(28, "No space left on device")


def test_what_a_picture_is_drawn_from(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    small: Path,
) -> None:
    import barfit.scene

    drawn = {}

    def draw(swept: object, found: object, turn: float, **options: object) -> bytes:
        drawn.update(options, sweep=swept, turn=turn)
        return b"PNG"

    monkeypatch.setattr(barfit.scene, "picture", draw)
    monkeypatch.chdir(tmp_path)
    status, out, _ = run(
        capsys,
        "picture",
        small,
        "--turn",
        "24 right",
        "--stock",
        "--width",
        "640",
        "--view",
        "left",
    )
    assert status == 0
    assert out == "Wrote small.png: Tall bar on a cable-clutch cruiser, 24° right.\n"
    assert (tmp_path / "small.png").read_bytes() == b"PNG"
    assert drawn["turn"] == pytest.approx(-0.41888, abs=1e-5)
    assert (drawn["size"], drawn["view"], drawn["unit"]) == ((640, 1000), "left", "mm")
    assert drawn["sweep"].stock is True


@pytest.mark.gl
def test_a_real_picture_without_any_window(tmp_path: Path, small: Path) -> None:
    target = tmp_path / "bike.png"
    command = [sys.executable, "-m", "barfit", "picture", str(small), "--turn", "-24"]
    done = subprocess.run(
        [*command, "-o", str(target), "--width", "320", "--height", "200"],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    png = target.read_bytes()
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert (int.from_bytes(png[16:20]), int.from_bytes(png[20:24])) == (320, 200)


# --- window, or not ----------------------------------------------------------------------------


@pytest.fixture
def linux(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(sys, "platform", "linux")
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    return monkeypatch


def test_with_no_display_there_is_a_check_and_a_picture(
    capsys: pytest.CaptureFixture[str],
    linux: pytest.MonkeyPatch,
    tmp_path: Path,
    small: Path,
) -> None:
    import barfit.scene

    linux.setattr(barfit.scene, "picture", lambda *_args, **_options: b"PNG")
    linux.chdir(tmp_path)
    status, out, _ = run(capsys, "open", small)
    assert status == 1
    assert out.startswith("There is no display (neither DISPLAY nor WAYLAND_DISPLAY is set), so ")
    assert "throttle pull cable" in out
    assert out.endswith("Wrote small.png: 40° right.\n")
    assert (tmp_path / "small.png").exists()


def test_with_no_display_a_bad_file_is_told(
    capsys: pytest.CaptureFixture[str], linux: pytest.MonkeyPatch, bad: Path
) -> None:
    status, _, err = run(capsys, "open", bad)
    assert status == 2
    assert "2 problems" in err


def test_where_a_window_can_be_shown(linux: pytest.MonkeyPatch) -> None:
    assert "neither DISPLAY" in display.no_display()
    linux.setenv("QT_QPA_PLATFORM", "offscreen")
    assert display.no_display() == ""
    linux.setenv("QT_QPA_PLATFORM", "xcb")
    assert "neither DISPLAY" in display.no_display()
    linux.delenv("QT_QPA_PLATFORM")
    linux.setenv("WAYLAND_DISPLAY", "wayland-0")
    assert display.no_display() == ""
    linux.delenv("WAYLAND_DISPLAY")
    linux.setenv("DISPLAY", "far.example:0")
    assert display.no_display() == ""  # only trying would tell
    linux.setattr(sys, "platform", "darwin")
    linux.delenv("DISPLAY")
    assert display.no_display() == ""


@pytest.mark.skipif(sys.platform != "linux", reason="abstract sockets are a Linux matter")
def test_a_display_is_knocked_at(linux: pytest.MonkeyPatch) -> None:
    number = 4242 + os.getpid() % 1000
    linux.setenv("DISPLAY", f":{number}.0")
    assert display.no_display() == f"Nothing answers on display :{number}.0"
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(f"\0/tmp/.X11-unix/X{number}")
        server.listen(1)
        assert display.no_display() == ""


def test_the_window_gets_the_file(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, small: Path
) -> None:
    app = pytest.importorskip("barfit.ui.app")
    opened: list[Path | None] = []

    def window(path: Path | None = None) -> int:
        opened.append(path)
        return 0

    monkeypatch.setattr(app, "run", window)
    monkeypatch.setattr(cli, "no_display", lambda: "")
    assert run(capsys)[0] == 0
    assert run(capsys, "open", small)[0] == 0
    assert opened == [None, small]


# --- the rest ----------------------------------------------------------------------------------


def test_version_and_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "--version") == (0, f"barfit {barfit.__version__}\n", "")
    status, out, _ = run(capsys, "--help")
    assert status == 0
    for command in ("open", "check", "picture", "bench"):
        assert re.search(rf"^  {command} ", out, re.MULTILINE)
    assert "  0  every line fits\n" in run(capsys, "check", "--help")[1]


def test_bench_passes_its_options_on(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    import barfit.bench

    asked: list[tuple[bool, int]] = []

    def measure(accuracy: bool, repeats: int) -> int:
        asked.append((accuracy, repeats))
        return 1 if accuracy else 0

    monkeypatch.setattr(barfit.bench, "main", measure)
    assert run(capsys, "bench")[0] == 0
    assert run(capsys, "bench", "--accuracy", "--repeats", "2")[0] == 1
    assert asked == [(False, 5), (True, 2)]
    assert told(capsys, "bench", "--repeats", "0") == "--repeats 0 is outside 1 to 1000."


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["chek"], "No such command 'chek'."),
        (["check"], "Missing argument 'FILE'."),
        (["check", "a.toml", "--loud"], "No such option: --loud"),
        (["picture", "a.toml", "--width", "wide"], "Invalid value for '--width'"),
    ],
)
def test_a_wrong_command_line(
    capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    text = told(capsys, *words)
    assert text.startswith(said)
    assert "Usage: barfit" in text


def test_check_loads_neither_window_nor_drawing_libraries(small: Path) -> None:
    script = (
        "import sys; from barfit.cli import run; status = run(['check', sys.argv[1]]); "
        "heavy = {'PySide6', 'pyvista', 'vtkmodules', 'pyvistaqt'} & set(sys.modules); "
        "assert not heavy, heavy; sys.exit(status)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(small)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 1, done.stderr


def test_a_terminal_without_the_degree_sign(small: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "barfit", "check", str(small)],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        check=False,
    )
    assert done.returncode == 1, done.stderr
    assert b"40? right" in done.stdout


def test_progress_shows_only_on_a_terminal_and_only_after_a_second(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    clock = [0.0]
    monkeypatch.setattr(shared.time, "monotonic", lambda: clock[0])
    for terminal, seconds, shown in ((True, 2.0, True), (True, 0.5, False), (False, 2.0, False)):
        started = []
        monkeypatch.setattr(shared.Console, "is_terminal", property(lambda _, t=terminal: t))
        monkeypatch.setattr(shared.Progress, "start", lambda _, s=started: s.append(True))
        clock[0] = 0.0
        with shared.progress_bar("Turning") as tell:
            clock[0] = seconds
            tell(0.5)
        assert bool(started) is shown


def test_interrupting_is_not_a_verdict(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, small: Path
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(shared, "sweep", interrupted)
    assert run(capsys, "check", small) == (130, "", "Stopped.\n")


def test_the_small_file_is_what_the_tests_say(small: Path) -> None:
    assert len(loads(small.read_text()).lines) == FEW
