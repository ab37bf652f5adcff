"""Bars and ways to go held against each other on the command line."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from barfit import cli, edits, scenario
from barfit.scenario import save

CLUTCH = "clutch cable"


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The old twin with two lines and two of its three bars."""
    whole = scenario.load(next(p for p in scenario.bundled() if p.stem == "old-twin"))
    lines = (whole.line(CLUTCH), whole.line("speedometer cable"))
    setup = edits.delete_bars(replace(whole, lines=lines), "high and wide")
    path = tmp_path_factory.mktemp("files") / "small.toml"
    save(setup, path)
    return path


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    status = cli.run([str(word) for word in words])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, out, err


def test_all_bars_as_a_table_and_as_json(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    status, out, err = run(capsys, "check", small, "--bars")
    assert (status, err) == (1, "")
    for words in ("Pulled back", "A little higher", "the new bars", "Rank (1 needs least)", CLUTCH):
        assert words in out
    assert "Only 8 mm remain between the left grip and the tank" in out
    assert "service manual" in out
    status, text, _ = run(capsys, "check", small, "--bars", "--json")
    made = json.loads(text)
    assert status == 1
    assert [one["bars"] for one in made["compared"]] == ["pulled back", "a little higher"]
    assert [one["in_use"] for one in made["compared"]] == [True, False]
    assert [one["rank"] for one in made["compared"]] == [2, 1]
    for one in made["compared"]:
        assert one["stay"] + one["change"] + one["move"] + one["unsure"] == 2
    # the very numbers of a plain check
    _, plain, _ = run(capsys, "check", small, "--json")
    lines = json.loads(plain)["bars"][0]["lines"]
    for here, there in zip(made["compared"][0]["lines"], lines, strict=True):
        assert {key: there[key] for key in ("line", "verdict", "margin")} == {
            key: here[key] for key in ("line", "verdict", "margin")
        }


def test_all_ways_of_a_line(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    status, out, err = run(capsys, "check", small, "--routings", CLUTCH)
    assert (status, err) == (1, "")
    for words in ("Behind the top clamp", "Straight to the head tube", "in use", "Total bend"):
        assert words in out
    status, text, _ = run(capsys, "check", small, "--routings", CLUTCH, "--json")
    used, other = json.loads(text)["routings"]
    assert (used["in_use"], other["in_use"]) == (True, False)
    assert other["needed"] < used["needed"]


def test_a_line_with_one_way_shows_that(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    status, text, _ = run(capsys, "check", small, "--routings", "speedometer cable", "--json")
    assert status == 0
    assert [one["routing"] for one in json.loads(text)["routings"]] == ["as it goes now"]


def test_what_cannot_be_asked_is_told_in_a_sentence(
    capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path
) -> None:
    status, out, err = run(capsys, "check", small, "--routings", "choke")
    assert (status, out) == (2, "")
    assert "'choke': is not a line" in err
    assert "known: clutch cable, speedometer cable" in err
    for words in (("--bars", "--stock"), ("--bars", "--compare"), ("--bars", "--all")):
        status, _, err = run(capsys, "check", small, *words)
        assert status == 2
        assert f"leave out {words[1]}" in err
    status, _, err = run(capsys, "check", small, "--bars", "--routings", CLUTCH)
    assert status == 2
    assert "leave out --bars" in err
    bad = tmp_path / "bad.toml"
    bad.write_text(small.read_text().replace("rake = 27", "rake = nan"))
    status, text, err = run(capsys, "check", bad, "--bars", "--json")
    assert status == 2
    assert json.loads(text)["problems"]
    assert "rake" in err
