"""Remedies on whole machines: what each claims is what a check of its setup finds; the command."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from barfit import cli, edits, scenario
from barfit.analysis import LineFinding, Verdict, findings, sweep
from barfit.catalogue import line_kinds
from barfit.model import PointPlace, Routing, Setup
from barfit.remedies import FIRST_LOOK, Means, Remedies, Remedy, clips, lower_bar, remedies, routes
from barfit.remedies.bars import lowered
from barfit.remedies.lengths import longer
from barfit.remedies.trials import Trials
from barfit.report.remedy_limits import lower_bar_sentence
from barfit.scenario import save
from barfit.trade import trade

CHOKE, CLUTCH, LEFT = "choke cable", "clutch cable", "left switch harness"


@cache
def twin() -> Setup:
    """The old twin with a cable that bends too tightly and a harness."""
    return of_lines(old_twin(), (CHOKE, LEFT))


def of_lines(whole: Setup, names: tuple[str, ...]) -> Setup:
    return replace(whole, lines=tuple(whole.line(name) for name in names))


def old_twin() -> Setup:
    return bundled("old-twin")


def bundled(name: str) -> Setup:
    return scenario.load(next(p for p in scenario.bundled() if p.stem == name))


@cache
def of_twin() -> tuple[Remedies, ...]:
    return asked(twin())


def asked(setup: Setup) -> tuple[Remedies, ...]:
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    return remedies(swept, stock, found, trade(swept, stock, found))


def trials_of(setup: Setup) -> Trials:
    swept, stock = sweep(setup), sweep(setup, stock=True)
    found = findings(swept)
    return Trials(swept, stock, found, trade(swept, stock, found))


def checked(remedy: Remedy) -> LineFinding:
    """The line in the remedy's setup, swept as a whole, knowing nothing of how it was found."""
    found = findings(sweep(remedy.setup))
    return next(one for one in found if one.line == remedy.line)


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("old-twin", (CHOKE, LEFT)),  # the cable can lie in two shapes
        ("naked-standard", ("throttle return cable",)),
        ("tall-bar-cruiser", ("front brake hose",)),
    ],
)
def test_what_a_remedy_claims_is_what_a_check_of_its_setup_finds(
    name: str, lines: tuple[str, ...]
) -> None:
    """Every remedy is a setup of its own, checked as a whole: what is offered is known as a check
    knows it, and what a first look says is not enough is not, and as far off as it says.
    """
    whole = bundled(name)
    found = of_twin() if name == "old-twin" else asked(of_lines(whole, lines))
    told = [one for line in found for one in line.ranked if not one.why_not]
    assert any(one.offered for one in told)
    for one in told:
        there = checked(one)
        if one.first_look:
            assert not one.offered
            assert one.margin == pytest.approx(there.margin, abs=FIRST_LOOK), one.key
            assert there.verdict not in (Verdict.REACHES, Verdict.RUBS), one.key
            continue
        assert one.margin == pytest.approx(there.margin, abs=0.1), one.key
        assert one.verdict is there.verdict, one.key
        assert 2.0 * one.sigma == pytest.approx(there.sure.two_sigma, abs=0.5, nan_ok=True), one.key


def test_a_first_look_does_not_go_astray_between_two_angles() -> None:
    """With a bar in between these lines, looked at in steps too large, were lost or drawn the long
    way round something.
    """
    names = ("clutch cable", "left switch harness")
    trials = trials_of(of_lines(bundled("naked-standard"), names))
    for by in (20.0, 50.0):
        setup = lowered(trials.setup, by)
        looked = trials.spare(setup, names)
        for one in findings(sweep(setup)):
            assert looked[one.line].margin == pytest.approx(one.margin, abs=FIRST_LOOK)


def test_a_line_bent_too_tightly_with_the_stock_bars_already_is_offered_what_is_no_worse(
    cruiser: Setup,
) -> None:
    """Its short stretch down at the caliper is bent as it is, whatever bars there are."""
    hose = "front brake hose"
    (found,) = asked(of_lines(cruiser, (hose,)))
    longer_one = next(one for one in found.ranked if one.means is Means.MADE_UP)
    assert longer_one.verdict is Verdict.BEND_TOO_TIGHT
    assert longer_one.bent_before
    assert longer_one.offered
    assert not longer_one.cures
    assert not longer_one.may_cure
    assert found.taken(None) is None, "nobody orders that without having looked"
    assert found.taken("made_up") is longer_one
    assert longer_one.margin == pytest.approx(checked(longer_one).margin, abs=0.1)
    assert not any(one.offered for one in found.ranked if one.margin < 0.0)


def test_the_twin_is_offered_every_kind_of_remedy() -> None:
    means = {one.means for line in of_twin() for one in line.ranked if one.offered}
    assert {Means.NEXT_SIZE, Means.REROUTE, Means.EXTENSION, Means.LOWER_BAR} <= means


def test_the_best_one_makes_the_line_fit() -> None:
    for line in of_twin():
        taken = line.taken(None)
        assert taken is not None
        assert taken.verdict is Verdict.REACHES
        assert not taken.worse


def test_other_ways_of_the_file_are_tried() -> None:
    clutch = old_twin().line(CLUTCH)
    trials = trials_of(replace(old_twin(), lines=(clutch,)))
    found = routes.rerouted(trials, clutch)
    (other,) = [one for one in found if one.at == "straight to the head tube"]
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


def test_a_lower_bar_names_what_would_then_be_too_long() -> None:
    """A brake cable as long as is sensible with the bars as they are, beside a short harness."""
    brake = old_twin().line("front brake cable")
    long = replace(brake, length=brake.length + 75.0, found_slack=None)
    found = asked(replace(old_twin(), lines=(old_twin().line(LEFT), long)))
    harness, cable = found
    (lower,) = [one for one in harness.ranked if one.means is Means.LOWER_BAR]
    assert lower.too_long == (cable.line,)
    assert not lower.cures
    then = {one.line: one for one in findings(sweep(lower.setup))}
    assert then[cable.line].verdict is Verdict.TOO_LONG
    assert lower_bar(found) == lower.by
    for one in found:
        assert one.lowest is not None
        assert one.lowest.verdict is then[one.line].verdict
        assert one.lowest.margin == pytest.approx(then[one.line].margin, abs=0.1)
    told = lower_bar_sentence(found, "mm")
    assert f"the {cable.line} would be too long; every other line could stay as it is" in told


def test_why_no_length_of_a_harness_is_sure() -> None:
    """As long as is sensible it has less to spare than what it needs is known to."""
    whole = bundled("tall-bar-cruiser")
    found = asked(of_lines(whole, (LEFT,)))[0]
    cap = found.cap
    assert cap is not None
    (up,) = [one for one in found.ranked if one.means is Means.MADE_UP]
    assert up.verdict is Verdict.UNCERTAIN
    assert cap.longest - 5.0 < up.length <= cap.longest  # the last round number
    assert cap.room == pytest.approx(up.margin + cap.longest - up.length, abs=0.5)
    assert cap.room < cap.known_to == pytest.approx(2.0 * up.sigma)
    assert cap.things
    longer = replace(up.setup.line(LEFT), length=cap.longest + 3.0)
    (beyond,) = findings(sweep(replace(whole, lines=(longer,))))
    assert beyond.window is not None
    assert beyond.installed > beyond.window.longest
    assert beyond.window.limit is cap.window.limit


def test_a_hose_divided_by_clips_says_which_stretch_decides() -> None:
    """What it is made longer goes above the clip; below it nothing changes."""
    hose = "front brake hose"
    found = asked(of_lines(bundled("tall-bar-cruiser"), (hose,)))[0]
    longer = {one.means: one for one in found.ranked if one.offered and one.longer > 0.0}
    sold, made = (longer[means] for means in (Means.NEXT_SIZE, Means.MADE_UP))
    assert sold.elsewhere is not None
    assert made.elsewhere is not None
    assert sold.elsewhere.between == made.elsewhere.between
    assert sold.elsewhere.grown - made.elsewhere.grown == pytest.approx(
        sold.length - made.length, abs=0.5
    )
    assert sold.margin == pytest.approx(made.margin, abs=0.1)
    assert sold.elsewhere.between == ("clip on the lower clamp", "clip on the left slider")


def test_a_sensors_lead_is_not_spliced_where_it_can_be_replaced_whole() -> None:
    whole = bundled("touring-hydraulic")
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


def test_clips_are_slid_so_that_every_stretch_has_enough() -> None:
    """A hose that is long enough, held so that the stretch that the bar moves has too little."""
    whole = bundled("touring-hydraulic")
    hose = whole.line("brake hose to the modulator")
    longer = replace(hose, length=hose.length + 50.0, found_slack=None)
    setup = replace(whole, lines=(longer,))
    (slid,) = clips.slid(trials_of(setup), longer)
    assert slid.key == "move_clip-slide:clip on the down tube"
    assert slid.by > 0.0
    assert slid.length == longer.length
    assert slid.cures
    assert checked(slid).fits


def test_the_other_side_of_the_head_tube_is_taken_where_it_is_shorter() -> None:
    """A throttle cable led round the wrong side of the head tube."""
    whole = bundled("tall-bar-cruiser")
    cable = whole.line("throttle pull cable")
    guide = cable.stations[1]
    assert isinstance(guide.place, PointPlace)
    x, y, z = guide.place.position
    wrong = replace(guide, place=replace(guide.place, position=(x, -y, z)))
    stations = (cable.stations[0], wrong, *cable.stations[2:])
    # as long as it must be on the right side
    crossed = replace(cable, length=965.0, stations=stations, found_slack=None)
    found = routes.rerouted(trials_of(replace(whole, lines=(crossed,))), crossed)
    other = next(one for one in found if one.key == "reroute-other_side")
    moved = other.setup.line(cable.name).stations[1].place
    assert isinstance(moved, PointPlace)
    assert moved.position == (x, y, z)
    assert other.gain > 30.0
    assert other.cures


def test_wires_through_the_bar_where_the_file_has_such_a_way() -> None:
    whole = bundled("hidden-wires")
    lead = next(one for one in whole.lines if one.through_bar is not None)
    outside = Routing("outside", lead.length, lead.stations)
    both = replace(lead, routing="inside", routings=(outside,), found_slack=None)
    setup = edits.use_routing(replace(whole, lines=(both,)), lead.name, "outside")
    found = routes.rerouted(trials_of(setup), setup.line(lead.name))
    through = [one for one in found if one.means is Means.THROUGH_BAR]
    assert [one.at for one in through] == ["inside"]
    assert through[0].setup.line(lead.name).through_bar == lead.through_bar
    assert through[0].margin == pytest.approx(checked(through[0]).margin, abs=0.5)


def test_a_line_that_only_rubs_may_be_left_with_a_sleeve() -> None:
    whole = bundled("touring-hydraulic")
    hose = whole.line("brake hose to the modulator")
    rubs = replace(hose, length=hose.length + 60.0, found_slack=None)
    stations = tuple(
        replace(one, at_length=one.at_length + 60.0) if one.at_length is not None else one
        for one in rubs.stations
    )
    setup = replace(whole, lines=(replace(rubs, stations=stations),))
    (found,) = asked(setup)
    leave = next(one for one in found.ranked if one.means is Means.LEAVE)
    assert leave.verdict is Verdict.RUBS
    assert leave.may_cure
    assert not [one for one in found.ranked if one.means in (Means.ROLL_BAR, Means.NEXT_SIZE)]


def test_a_length_is_made_up_so_that_it_is_surely_enough_where_a_sensible_one_can_be() -> None:
    """How long it is made is free; a few millimetres are not left to chance."""
    setup = bundled("touring-hydraulic")
    names = ("ride-by-wire lead", "left heated-grip lead")
    kept = tuple(one for one in setup.lines if one.name in names)
    trials = trials_of(replace(setup, lines=kept))
    told = {one.name: next(iter(longer(trials, one))) for one in kept}
    lead, grip = (told[name] for name in names)
    assert lead.cures
    assert lead.margin >= 2.0 * lead.sigma
    window = trials.found[lead.line].window
    assert window is not None
    assert lead.length <= window.longest
    # what the grip's lead needs is known to less than its sensible lengths reach either way: it
    # keeps the slack to aim for, chases nothing and is measured again
    wide = trials.found[grip.line]
    assert wide.window is not None
    assert 2.0 * wide.sure.two_sigma > wide.window.longest - wide.needed
    assert grip.may_cure
    assert not grip.cures
    assert grip.margin < wide.target
