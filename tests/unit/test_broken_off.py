"""A fault of the program over one file: a sentence, and the other files' answers all the same."""

from __future__ import annotations

import json
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import pytest

from barfit import cli
from barfit.commands import many
from barfit.commands.many import answer_each
from barfit.commands.shared import TRACED, UNUSABLE, Unusable


@dataclass
class _Answer:
    file: str
    status: int = 0


def _made(file: str, _setup: Any, _label: str) -> Any:
    if file == "b.toml":
        raise IndexError("index 7 is out of bounds")
    return _Answer(file)


def _answer(paths: list[str], as_json: bool = False) -> tuple[int, list[Any]]:
    values = {"values": lambda one: {"file": one.file}, "whole": lambda one: print(one.file)}
    return answer_each(paths, as_json, _made, line=lambda one: f"{one.file}: fits", **values)


SAID = (
    "b.toml: barfit broke off here (IndexError: index 7 is out of bounds); "
    "please report it with the file."
)


@pytest.fixture(autouse=True)
def _no_files(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(many, "load_setup", lambda file: SimpleNamespace())
    monkeypatch.delenv(TRACED, raising=False)


def test_the_others_are_answered(capsys: pytest.CaptureFixture[str]):
    status, found = _answer(["a.toml", "b.toml", "c.toml"])
    out, err = capsys.readouterr()
    assert status == UNUSABLE
    assert [one.file for one in found] == ["a.toml", "c.toml"]
    assert out.splitlines() == ["a.toml: fits", SAID, "c.toml: fits"]
    assert err == f"{SAID}\n1 of 3 files could not be used: b.toml.\n"


def test_json_keeps_an_entry_for_each(capsys: pytest.CaptureFixture[str]):
    _answer(["a.toml", "b.toml", "c.toml"], as_json=True)
    first, second, third = json.loads(capsys.readouterr().out)
    assert (first["file"], second["file"], third["file"]) == ("a.toml", "b.toml", "c.toml")
    assert second["problems"][0]["message"] == SAID


def test_the_only_one_gets_a_sentence():
    with pytest.raises(Unusable) as caught:
        _answer(["b.toml"])
    assert str(caught.value) == SAID


def test_films_and_sheets_go_on(capsys: pytest.CaptureFixture[str]):
    done: list[int] = []

    def made(number: int, _setup: Any, _label: str) -> None:
        if number == 0:
            raise ZeroDivisionError
        done.append(number)

    assert many.for_each(["a.toml", "b.toml"], made) == UNUSABLE
    assert done == [1]
    assert capsys.readouterr().err.startswith(
        "a.toml: barfit broke off here (ZeroDivisionError); please report it"
    )


def test_any_command_ends_in_a_sentence_and_traces_only_when_asked(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    def broken(*_arguments: Any, **_options: Any) -> int:
        raise KeyError("front hose")

    monkeypatch.setattr(cli, "app", broken)
    assert cli.run(["check", "a.toml"]) == UNUSABLE
    assert (
        capsys.readouterr().err
        == "barfit broke off here (KeyError: 'front hose'); please report it with the file.\n"
    )
    monkeypatch.setenv(TRACED, "1")
    cli.run(["check", "a.toml"])
    assert "Traceback" in capsys.readouterr().err
