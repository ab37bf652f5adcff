"""Dimensions that can hardly be meant, and what is said of them."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import pytest
from made_findings import finding

from barfit import scenario
from barfit.analysis import Verdict
from barfit.analysis.plausible import unusual
from barfit.model import Bar, Setup
from barfit.report.doubts import all_doubts, doubt_sentences
from barfit.report.results import Checked, results


def with_bar(setup: Setup, **changes: object) -> Setup:
    assert isinstance(setup.new.bar, Bar)
    bar = replace(setup.new.bar, **changes)  # type: ignore[arg-type]
    return replace(setup, new=replace(setup.new, bar=bar))


@pytest.mark.parametrize("stock", [True, False])
@pytest.mark.parametrize("file", scenario.bundled(), ids=lambda path: path.stem)
def test_the_bundled_machines_give_no_cause(file, stock) -> None:
    assert doubt_sentences(scenario.load(file), stock) == []


def test_inches_in_a_file_of_mm_are_noticed(cruiser: Setup) -> None:
    setup = with_bar(cruiser, rise=12.0)
    (said,) = doubt_sentences(setup, stock=False)
    assert said == (
        "The rise of the new bar is 12 mm, where 25 mm to 510 mm (or 0 mm) is usual (common "
        'practice): if 12 in is meant, write "12 in".'
    )
    assert doubt_sentences(setup, stock=True) == []
    assert unusual(with_bar(cruiser, rise=0.0), stock=False) == ()  # a flat bar


def test_mm_in_a_file_of_inches_are_noticed(cruiser: Setup) -> None:
    setup = replace(with_bar(cruiser, width=800 * 25.4), unit="in")
    (found,) = unusual(setup, stock=False)
    assert (found.what, found.meant) == ("width", "mm")
    assert 'if 800 mm is meant, write "800 mm".' in _said(setup)[0]


def _said(setup: Setup) -> list[str]:
    """Without the places, which need a layout."""
    from barfit.report import doubts

    return [doubts._sentence(one, setup.unit, setup.unit) for one in unusual(setup, stock=False)]


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("rake", math.radians(60.0), "The rake of the machine is 60°, where 18° to 45° is usual"),
        ("lock_left", math.radians(8.0), "The lock to the left of the machine is 8°"),
        ("fork_tube_diameter", 4.1, "The diameter of the fork tubes of the machine is 4.1 mm"),
        ("wheel_radius", 13.0, 'if 13 in is meant, write "13 in".'),
    ],
)
def test_the_machine_is_looked_at(cruiser: Setup, name: str, value: float, said: str) -> None:
    changed = replace(cruiser, machine=replace(cruiser.machine, **{name: value}))
    (text,) = _said(changed)
    assert said in text


def test_lines_are_looked_at(cruiser: Setup) -> None:
    line = replace(cruiser.lines[0], length=31.0, diameter=0.25)
    told = _said(replace(cruiser, lines=(line, *cruiser.lines[1:])))
    assert [one.partition(" is ")[0] for one in told] == [
        f"The length of the {line.name}",
        f"The diameter of the {line.name}",
    ]
    assert '"31 in"' in told[0]
    assert '"0.25 in"' in told[1]


def test_doubts_are_in_the_json(cruiser: Setup) -> None:
    setup = with_bar(cruiser, rise=12.0)
    found = [replace(finding(Verdict.REACHES), line=line.name) for line in setup.lines]
    (bars,) = json.loads(json.dumps(results(setup, [Checked(False, found, ())])))["bars"]
    assert bars["doubts"] == doubt_sentences(setup, stock=False)


def test_both_sets_of_bars_are_doubted_once_each(cruiser: Setup) -> None:
    both = with_bar(cruiser, rise=12.0)
    both = replace(both, stock=replace(both.stock, bar=both.new.bar))
    both = replace(both, machine=replace(both.machine, wheel_radius=13.0))
    told = all_doubts(both, "mm")
    assert [one.split(" is ")[0] for one in told] == [
        "The radius of the front wheel of the machine",
        "The rise of the stock bar",
        "The rise of the new bar",
    ]
    lost = replace(both, controls=(replace(both.controls[0], inboard=4e3), *both.controls[1:]))
    assert all_doubts(lost, "mm") == told
