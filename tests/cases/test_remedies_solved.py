"""Remedies on whole machines: what each claims is what a check of its setup finds; the command."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from barfit import cli, scenario
from barfit.analysis import LineFinding, Verdict, findings, sweep
from barfit.catalogue import line_kinds
from barfit.model import Setup
from barfit.remedies import Means, Remedies, Remedy, remedies
from barfit.scenario import save
from barfit.trade import trade

CHOKE, CLUTCH, LEFT = "choke cable", "clutch cable", "left switch harness"


@cache
def twin() -> Setup:
    """The old twin with a cable that bends too tightly, one with another way to go, a harness."""
    whole = scenario.load(next(p for p in scenario.bundled() if p.stem == "old-twin"))
    return replace(whole, lines=tuple(whole.line(name) for name in (CHOKE, CLUTCH, LEFT)))


@cache
def of_twin() -> tuple[Remedies, ...]:
    return asked(twin())


def asked(setup: Setup) -> tuple[Remedies, ...]:
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    return remedies(swept, stock, found, trade(swept, stock, found))


def checked(remedy: Remedy) -> LineFinding:
    """The line in the remedy's setup, swept as a whole, knowing nothing of how it was found."""
    found = findings(sweep(remedy.setup))
    return next(one for one in found if one.line == remedy.line)


def test_what_a_remedy_claims_is_what_a_check_of_its_setup_finds() -> None:
    told = [one for line in of_twin() for one in line.ranked if not one.why_not]
    means = {one.means for one in told}
    assert {Means.NEXT_SIZE, Means.MADE_UP, Means.REROUTE, Means.EXTENSION, Means.ROLL_BAR} <= means
    seen = set()
    for one in told:
        if (one.line, one.means) in seen:
            continue
        seen.add((one.line, one.means))
        found = checked(one)
        # the choke cable can lie in two shapes, which a first look may take for one another
        near = 0.5 if math.isfinite(one.sigma) else 6.0
        assert one.margin == pytest.approx(found.margin, abs=near), one.key
        if math.isfinite(one.sigma):
            assert one.verdict is found.verdict, one.key
            assert 2.0 * one.sigma == pytest.approx(found.sure.two_sigma, abs=0.5), one.key
        else:  # a first look was enough to see that it does not suffice
            assert not found.fits, one.key


def test_the_best_one_makes_the_line_fit() -> None:
    for line in of_twin():
        taken = line.taken(None)
        assert taken is not None
        assert taken.verdict is Verdict.REACHES
        assert not taken.worse


def test_other_ways_of_the_file_are_tried() -> None:
    clutch = next(one for one in of_twin() if one.line == CLUTCH)
    (other,) = [one for one in clutch.ranked if one.at == "straight to the head tube"]
    assert other.means is Means.REROUTE
    assert other.setup.line(CLUTCH).routing == "straight to the head tube"


def test_a_line_that_is_too_long_gets_a_shorter_one() -> None:
    setup = twin()
    cable = replace(setup.line(CHOKE), length=setup.line(CHOKE).length + 160.0, found_slack=None)
    (found,) = asked(replace(setup, lines=(cable,)))
    (shorter,) = [one for one in found.ranked if one.means is Means.SHORTER]
    assert shorter.longer < 0.0
    assert shorter.longer % line_kinds()[cable.kind].increment == pytest.approx(0.0)
    assert shorter.cures
    assert not [one for one in found.ranked if one.means in (Means.NEXT_SIZE, Means.SPLICE)]


def test_a_sensors_lead_is_not_spliced_where_it_can_be_replaced_whole() -> None:
    whole = scenario.load(next(p for p in scenario.bundled() if p.stem == "touring-hydraulic"))
    (found,) = asked(replace(whole, lines=(whole.line("ride-by-wire lead"),)))
    taken = found.taken(None)
    assert taken is not None
    assert taken.means in (Means.MADE_UP, Means.EXTENSION)
    (splice,) = [one for one in found.ranked if one.means is Means.SPLICE]
    assert "not spliced" in splice.why_not


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The old twin with its harness alone."""
    path = tmp_path_factory.mktemp("files") / "small.toml"
    save(replace(twin(), lines=(twin().line(LEFT),)), path)
    return path


def test_the_command(capsys: pytest.CaptureFixture[str], small: Path) -> None:
    assert cli.run(["remedies", str(small)]) == 1
    out, err = capsys.readouterr()
    assert not err
    for words in ("Plug-in extension of 100 mm", "Splice in", "Not: Through the bar: these bars"):
        assert words in out
    assert cli.run(["remedies", str(small), "--json"]) == 1
    (line,) = json.loads(capsys.readouterr().out)["lines"]
    assert line["best"] == "extension"
    keys = [one["key"] for one in line["remedies"]]
    assert len(keys) == len(set(keys))
    assert cli.run(["remedies", str(small), "--line", "choke"]) == 2
    assert "is not a line of" in capsys.readouterr().err
