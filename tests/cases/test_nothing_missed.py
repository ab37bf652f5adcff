"""A search that leaves out what is hopeless offers what one that solves everything offers."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import Sweep, findings, sweep
from barfit.analysis.drawn import Drawn
from barfit.analysis.inputs import Input
from barfit.analysis.lengths import SpanNeed, span_needs
from barfit.analysis.lent import Lender
from barfit.analysis.slopes import Gauge, Slopes, slopes
from barfit.analysis.spans import SpanCase
from barfit.analysis.work import Work
from barfit.mechanics.rod import State
from barfit.model import Setup
from barfit.remedies import Remedy, judging, remedies, routes, trials
from barfit.trade import trade


class _Miser(Lender):
    """Lends nothing: all is solved anew."""

    def taut(self, case: SpanCase, angles: np.ndarray) -> Drawn | None:
        return None

    def ahead(self, setup: Setup, case: SpanCase) -> State | None:
        return None

    def needs(self, there: Sweep, work: Work | None = None) -> dict[str, list[SpanNeed]]:
        return span_needs(there, work)

    def slopes(self, there: Sweep, gauges: Sequence[Gauge], inputs: Sequence[Input]) -> Slopes:
        return slopes(there, gauges, inputs)


@pytest.mark.parametrize(
    ("machine", "line"),
    [
        ("old-twin", "throttle cable"),
        ("old-twin", "choke cable"),
        ("tall-bar-cruiser", "throttle pull cable"),
    ],
)
def test_nothing_that_could_be_offered_is_left_out(
    machine: str, line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup = scenario.load(next(path for path in scenario.bundled() if path.stem == machine))
    setup = replace(setup, lines=(setup.line(line),))
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    figures = trade(swept, stock, found)
    (pruned,) = remedies(swept, stock, found, figures)
    monkeypatch.setattr(judging, "_worth_solving", lambda spare, was: True)
    monkeypatch.setattr(routes, "hopeful", lambda spare, was: True)
    monkeypatch.setattr(trials.Trials, "hopeless", lambda self, setup, line: False)
    monkeypatch.setattr(routes, "_BEST", len(setup.lines[0].stations))
    monkeypatch.setattr(trials, "Lender", _Miser)
    (whole,) = remedies(swept, stock, found, figures)
    spared = sum(one.first_look or bool(one.why_not) for one in pruned.ranked)
    assert spared
    assert not any(one.first_look for one in whole.ranked)
    offered, all_there_are = _offered(pruned.ranked), _offered(whole.ranked)
    assert offered
    assert [one.key for one in offered] == [one.key for one in all_there_are]
    for one, other in zip(offered, all_there_are, strict=True):
        assert one.verdict == other.verdict
        assert (one.margin, one.sigma) == pytest.approx((other.margin, other.sigma), abs=0.05)
        assert (one.by, one.length) == pytest.approx((other.by, other.length), nan_ok=True)


def _offered(ranked: Sequence[Remedy]) -> list[Remedy]:
    return [one for one in ranked if one.offered]
