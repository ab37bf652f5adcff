"""What a longer line is lent of the shorter one is what is found of it anew."""

from collections.abc import Mapping
from dataclasses import replace
from math import radians

import numpy as np
import pytest

from barfit import edits, scenario
from barfit.analysis import LineFinding, Sweep, findings, sweep
from barfit.analysis.lent import Lender
from barfit.model import Setup

_STEP = radians(4.0)


def alone(machine: str, name: str) -> Setup:
    setup = scenario.load(next(path for path in scenario.bundled() if path.stem == machine))
    return replace(setup, lines=(setup.line(name),))


@pytest.mark.parametrize(
    ("machine", "name", "longer"),
    [
        ("old-twin", "choke cable", 60.0),  # presses on the handlebar
        ("tall-bar-cruiser", "left switch harness", 240.0),  # has clips
    ],
)
def test_a_longer_line(machine: str, name: str, longer: float) -> None:
    setup = alone(machine, name)
    line = replace(setup.line(name), length=setup.line(name).length + longer, found_slack=None)
    lender = Lender(sweep(setup, step=_STEP))
    grown = replace(setup, lines=(line,))
    lent, anew = sweep(grown, step=_STEP, lent=lender), sweep(grown, step=_STEP)
    _same(lent, anew)
    own = lender.swept.lines[0].spans
    assert all(a.taut_nodes is b.taut_nodes for a, b in zip(lent.lines[0].spans, own, strict=True))
    (one,) = findings(lent, windows=False, lender=lender)
    (other,) = findings(anew, windows=False)
    assert _numbers(one) == pytest.approx(_numbers(other), abs=0.02, nan_ok=True)
    assert one.verdict == other.verdict


def test_another_line_or_way_is_lent_nothing() -> None:
    setup = alone("old-twin", "clutch cable")
    lender = Lender(sweep(setup, step=_STEP))
    index = next(k for k, one in enumerate(setup.lines[0].stations) if "guide" in one.name)
    without = edits.delete_station(setup, "clutch cable", index)
    there = sweep(without, step=_STEP, lent=lender)
    _same(there, sweep(without, step=_STEP))
    assert there.lines[0].spans[0].taut_nodes is not lender.swept.lines[0].spans[0].taut_nodes


def test_a_check_begins_where_a_first_look_of_its_setup_was() -> None:
    setup = alone("old-twin", "clutch cable")
    lender = Lender(sweep(setup, step=_STEP))
    index = next(k for k, one in enumerate(setup.lines[0].stations) if "guide" in one.name)
    without = edits.delete_station(setup, "clutch cable", index)
    looked = sweep(without, step=2.0 * _STEP, settle=False)
    lender.keep(looked)
    there = sweep(without, step=_STEP, lent=lender)
    _same(there, sweep(without, step=_STEP))
    assert np.array_equal(_ahead(there), _ahead(looked))


def _ahead(swept: Sweep) -> np.ndarray:
    found = swept.lines[0].spans[0].ahead
    assert found is not None
    return found.nodes


def _same(one: Sweep, other: Sweep) -> None:
    for a, b in zip(one.lines, other.lines, strict=True):
        assert np.array_equal(a.converged, b.converged)
        for values, same in ((a.slack, b.slack), (a.shapes, b.shapes)):
            assert values == pytest.approx(same, abs=1e-9, nan_ok=True)


def _numbers(found: LineFinding) -> Mapping[str, float]:
    names = ("slack", "margin", "needed", "taut_length", "bend_length", "min_radius", "excess")
    return {name: getattr(found, name) for name in names} | {"sigma": found.sure.sigma}
