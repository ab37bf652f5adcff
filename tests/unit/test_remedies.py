"""What can be done about lines that do not fit: on a small machine, by the rules of the trade."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from barfit import scenario
from barfit.analysis import Cancelled, Verdict, findings, sweep
from barfit.catalogue import line_kinds
from barfit.model import EXACT, Setup
from barfit.remedies import Means, Remedies, remedies
from barfit.trade import trade

CRUISER = Path(__file__).parent.parent / "data" / "cruiser.toml"


def asked(setup: Setup, **more: object) -> tuple[Remedies, ...]:
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    return remedies(swept, stock, found, trade(swept, stock, found), **more)  # type: ignore[arg-type]


def few() -> Setup:
    """The cruiser with a throttle pair and a hose with clips."""
    setup = scenario.load(CRUISER)
    kept = ("throttle_pull", "throttle_return", "brake_hose")
    lines = [one for one in setup.lines if one.kind in kept]
    assert len(lines) == 3
    return replace(setup, lines=tuple(lines))


@cache
def of_cruiser() -> tuple[Setup, tuple[Remedies, ...]]:
    setup = few()
    return setup, asked(setup)


def test_every_line_has_its_remedies_and_one_that_fits_has_none() -> None:
    setup, found = of_cruiser()
    assert [one.line for one in found] == [line.name for line in setup.lines]
    kept = tuple(one for one in setup.lines if one.kind == "throttle_pull")
    stock = replace(setup, lines=kept, new=setup.stock, uncertainty=EXACT)
    before = {finding.line for finding in findings(sweep(stock)) if finding.fits}
    assert before
    assert {one.line for one in asked(stock) if not one.ranked} == before


def test_no_cable_is_lengthened_and_no_hose_joined() -> None:
    setup, found = of_cruiser()
    for one in found:
        if line_kinds()[setup.line(one.line).kind].family in ("cable", "hose"):
            joined = [r for r in one.ranked if r.means in (Means.EXTENSION, Means.SPLICE)]
            assert len(joined) == 2
            assert all(r.why_not and not r.cures and not r.may_cure for r in joined)


def test_sizes_are_those_sold_and_lie_in_the_window() -> None:
    setup, found = of_cruiser()
    seen = 0
    for one in found:
        line = setup.line(one.line)
        for remedy in one.ranked:
            if remedy.means is Means.NEXT_SIZE and not remedy.why_not:
                step = line_kinds()[line.kind].increment
                assert remedy.longer / step == pytest.approx(round(remedy.longer / step))
                assert remedy.length == remedy.setup.line(line.name).length
                seen += 1
    assert seen


def test_a_throttle_pair_grows_as_one() -> None:
    setup, found = of_cruiser()
    pull, back = (
        next(one for one in found if one.line.startswith(f"throttle {name}"))
        for name in ("pull", "return")
    )
    both = pull.taken(None), back.taken(None)
    assert both[0] is not None
    assert both[1] is not None
    assert both[0].key == both[1].key
    assert both[0].longer == pytest.approx(both[1].longer)
    assert both[0].together == (back.line,)
    for name in (pull.line, back.line):
        assert both[0].setup.line(name).length > setup.line(name).length


def test_it_can_be_stopped_and_tells_how_far_it_is() -> None:
    setup, _ = of_cruiser()
    told: list[float] = []
    setup = replace(setup, lines=setup.lines[:1])
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    figures = trade(swept, stock, found)
    with pytest.raises(Cancelled):
        remedies(swept, stock, found, figures, told.append, lambda: len(told) > 2)
    assert told == sorted(told)
    assert all(0.0 < share <= 1.0 for share in told)


def test_a_longer_line_never_has_less_to_spare() -> None:
    _, found = of_cruiser()
    for one in found:
        for remedy in one.ranked:
            if remedy.longer > 0.0 and math.isfinite(remedy.margin):
                assert remedy.gain >= -0.5
                assert remedy.verdict is not Verdict.SHORT
