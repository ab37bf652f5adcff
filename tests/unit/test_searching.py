"""What is heard of a search for remedies while it goes on."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from made_orders import bundled, remedy

from barfit.analysis import Verdict
from barfit.remedies import Means, Remedies, Remedy, Trying, search
from barfit.report.searching import searched_sentence, sought_sentence, trying_text
from barfit.trade import Trade

PAIR = ("throttle pull cable", "throttle return cable")


def test_each_line_is_told_as_the_answer_will_have_it_and_pairs_together(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    setup = bundled("tall-bar-cruiser")
    wrong = (PAIR[0], "clutch cable", PAIR[1])
    findings = [
        SimpleNamespace(line=line.name, fits=line.name not in wrong, verdict=Verdict.SHORT)
        for line in setup.lines
    ]

    def longer(trials: object, line: Any) -> list[Remedy]:
        return [
            remedy(setup, line.name, Means.NEXT_SIZE, 150.0),
            remedy(setup, line.name, Means.MADE_UP, 120.0),
        ]

    def joined(trials: object, tick: Any, finding: object, before: object) -> list[Remedy]:
        tick(None)
        return []

    monkeypatch.setattr(search, "_SOURCES", ((Means.NEXT_SIZE, longer),))
    monkeypatch.setattr(search, "_left", lambda *args: [])
    monkeypatch.setattr(search, "_joined", joined)
    monkeypatch.setattr(search, "cap", lambda *args: None)
    monkeypatch.setattr(search.bars, "stands", lambda *args: {})
    monkeypatch.setattr(search, "Trials", lambda *args: SimpleNamespace(setup=setup))
    heard: list[Trying | Remedies] = []
    parts: list[float] = []
    answer = search.remedies(
        SimpleNamespace(setup=setup),  # type: ignore[arg-type]
        None,  # type: ignore[arg-type]
        findings,  # type: ignore[arg-type]
        Trade(),
        parts.append,
        tell=heard.append,
    )
    told = [one for one in heard if isinstance(one, Remedies)]
    assert {one.line for one in told} == {*wrong}
    assert all(one in answer for one in told)
    first = next(at for at, one in enumerate(told) if one.line in PAIR)
    assert told[first].line in PAIR
    assert told[first + 1].line in PAIR, "one of two that are ordered together is no answer"
    tried = [one for one in heard if isinstance(one, Trying)]
    assert {one.line for one in tried} == {*wrong}
    assert parts[-1] == pytest.approx(1.0)


def test_how_far_it_is_in_words() -> None:
    assert searched_sentence(2, 8) == (
        "Looking for what can be done: 2 of 8 lines done. Nothing here is complete before that."
    )
    assert sought_sentence(()) == ""
    assert sought_sentence(("clutch cable",)) == (
        "Not complete: what the clutch cable needs is still being worked out."
    )
    assert "a, b, c, d and 2 other lines need" in sought_sentence(tuple("abcdef"))
    assert trying_text([("clutch cable", "re-route")]) == "Now: clutch cable, re-route"
    assert trying_text([]) == ""
