"""`barfit order`, from the words typed to what is printed and the exit status."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from barfit import cli
from barfit.model import By, Job, Price, SellersSet, SetPart, Setup
from barfit.scenario import save

pytestmark = pytest.mark.usefixtures("once")

JOB = Job(
    by=By.SHOP,
    prices=(Price("throttle_pull", (31.0, 33.0)), Price("throttle_pull_made_up", (51.0, 53.0))),
    sets=(SellersSet("two cables", (40.0, 60.0), (SetPart("throttle_pull", longer=300.0),)),),
)


@pytest.fixture(scope="module")
def small(cruiser: Setup, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A machine with one line, which does not reach with the new bars."""
    lines = (cruiser.line("throttle pull cable"),)
    path = tmp_path_factory.mktemp("files") / "small.toml"
    save(replace(cruiser, lines=lines, job=JOB), path)
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


def test_all_of_one_file(capsys: pytest.CaptureFixture[str], small: Path, tmp_path: Path) -> None:
    target = tmp_path / "list.csv"
    status, out, err = run(capsys, "order", small, "--csv", target)
    assert status == 1
    assert err.strip() == f"Wrote {target}."
    for said in ("What is done", "made_up", "In full", "Look up before", "At home", "In a shop"):
        assert said in out
    assert re.search(r"Throttle pull cable, .* mm \(\+\d+\) +1 +.*\(yours\)", out)
    assert "'two cables' covers no line that needs another." in out
    assert re.search(r"Throttle pull cable: \d+ mm too long with it", out)
    assert "In a shop most of it is" in out
    assert out.count("service manual") == 1
    assert "invented" in out
    rows = list(csv.DictReader(io.StringIO(target.read_bytes().decode("utf-8"), newline="")))
    named = {row["for"] for row in rows}
    assert "throttle pull cable" in named
    assert {row["file"] for row in rows} == {str(small)}


def test_json_holds_the_same_and_who_does_it_can_be_said(
    capsys: pytest.CaptureFixture[str], small: Path
) -> None:
    status, out, err = run(capsys, "order", small, "--json", "--by", "home")
    assert (status, err) == (1, "")
    values = json.loads(out)
    assert values["by"] == "home"
    assert values["fits"] is False
    done = {one["line"]: one for one in values["lines"]}["throttle pull cable"]
    assert done["remedy"] in done["remedies"]
    items = values["order"]["items"]
    assert [one["group"] for one in items] == sorted(
        (one["group"] for one in items), key=["bars", "lines", "accessories"].index
    )
    by_hand = [sum(one["price"][end] for one in items) for end in (0, 1)]
    assert values["money"]["home"]["parts"] == pytest.approx(by_hand)
    assert values["sets"][0]["name"] == "two cables"


def test_several_files_are_a_line_each_and_a_broken_one_keeps_none_back(
    capsys: pytest.CaptureFixture[str], small: Path, cruiser: Setup, tmp_path: Path
) -> None:
    (tmp_path / "a.toml").write_text("rubbish")
    lines = (cruiser.line("throttle pull cable"),)
    save(replace(cruiser, lines=lines, new=cruiser.stock), tmp_path / "b.toml")
    status, out, err = run(capsys, "order", tmp_path, small, "--csv", tmp_path / "all.csv")
    assert status == 2
    assert "a.toml" in err
    first, second, _ = out.splitlines()
    assert first.endswith("a.toml: cannot be used")
    assert second.endswith("b.toml: nothing to order")
    assert re.search(r"small.toml: \d+ things to order, in a shop USD [\d,–]+; slowest", out)
    text = (tmp_path / "all.csv").read_bytes().decode("utf-8")
    assert {row["file"] for row in csv.DictReader(io.StringIO(text))} == {str(small)}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("order", "{}"), "there is no scenario file (.toml) in this folder."),
        (("order", "missing.toml"), "does not exist"),
        (("order", "missing.toml", "--csv", "{}"), "is a folder; name a file for the table."),
        (("order", "missing.toml", "--csv", "{}/no/list.csv"), "there is no folder"),
        (("order", "missing.toml", "--by", "friend"), "friend"),
    ],
)
def test_what_cannot_be_used_is_told_in_a_sentence(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    status, out, err = run(capsys, *(word.format(tmp_path) for word in words))
    assert (status, out) == (2, "")
    assert said in err


def test_json_says_what_is_wrong_with_a_file(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "bad.toml").write_text("format = 1")
    status, out, _ = run(capsys, "order", tmp_path / "bad.toml", "--json")
    assert status == 2
    assert json.loads(out)["problems"]


def test_help_reads_well(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "order", "--help")
    assert status == 0
    for word in ("--json", "--csv", "--by", "Exit status"):
        assert word in out
