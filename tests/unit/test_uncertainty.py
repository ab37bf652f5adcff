"""What is uncertain about a setup, how far that spreads, and what found slack does to it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from barfit.analysis import Verdict, corrected, findings, slopes, sweep
from barfit.analysis.calibration import Posterior, observations, update
from barfit.analysis.inputs import Input, alone, inputs
from barfit.analysis.lengths import span_needs
from barfit.analysis.slopes import Gauge
from barfit.analysis.spans import span_cases
from barfit.analysis.uncertainty import NOT_KNOWN, OddSlack, Sureness, _sureness, sureness
from barfit.geometry.pose import layout
from barfit.model import (
    EXACT,
    Bar,
    Body,
    FoundSlack,
    Hold,
    How,
    Line,
    PointPlace,
    Riser,
    Setup,
    Station,
    Uncertainty,
)

STEP = math.radians(8)


def straight_down(setup: Setup, length: float, **changes: object) -> Setup:
    """One lead, straight down beside the head tube, that the steering does not move: what it
    needs is the straight way between its fittings.
    """
    top = Station("top", Hold.FITTING, PointPlace(Body.FRAME, (0.0, 50.0, 200.0)), (0.0, 0.0, -1.0))
    end = Station("end", Hold.FITTING, PointPlace(Body.FRAME, (0.0, 50.0, -200.0)), (0.0, 0.0, 1.0))
    lead = Line("lead", "accessory_lead", 4.0, length, (top, end))
    return replace(setup, lines=(replace(lead, **changes),), uncertainty=Uncertainty())


def sure_of(setup: Setup, stock: bool = False):
    # nothing in the way, so that the closed forms hold
    return findings(sweep(setup, stock=stock, step=STEP, contact=False))[0]


# --- inputs --------------------------------------------------------------------------------------


def test_every_input_moves_what_its_line_is_laid_along_or_how_long_or_stiff_it_is(
    cruiser: Setup,
) -> None:
    for one in inputs(cruiser, stock=False):
        if one.key in (("machine", "lock_left"), ("machine", "lock_right")):
            assert one.moved(cruiser, 0.01).machine != cruiser.machine
            continue
        moved = one.moved(cruiser, one.sd)
        assert moved != cruiser, one.words
        before, after = layout(cruiser, cruiser.new), layout(moved, moved.new)
        for line in cruiser.lines:
            name = line.name
            same_place = np.array_equal(before[name].points, after[name].points) and np.array_equal(
                before[name].directions, after[name].directions, equal_nan=True
            )
            same_length = np.array_equal(before[name].at_length, after[name].at_length, True)
            same = same_place and same_length and moved.line(name) == line
            assert same or name in one.lines, (one.words, name)


def test_no_two_inputs_share_a_key(cruiser: Setup) -> None:
    for stock in (False, True):
        keys = [one.key for one in inputs(cruiser, stock)]
        assert len(set(keys)) == len(keys)


def test_what_is_set_up_anew_is_not_shared_by_stock_and_new_bars(cruiser: Setup) -> None:
    stock, new = ({one.key for one in inputs(cruiser, stock)} for stock in (True, False))
    both = stock & new
    assert ("outlet", "clutch perch", "cable", 0) in both
    assert ("length", "clutch cable") in both
    assert not any(key[0] in ("bar", "control") for key in both)
    same = replace(cruiser, new=replace(cruiser.stock, riser=Riser("taller", 80.0)))
    stock, new = ({one.key for one in inputs(same, stock)} for stock in (True, False))
    assert stock ^ new == {
        ("riser", era, name) for era in ("stock", "new") for name in ("height", "setback")
    }


def test_how_it_was_measured_decides_the_deviation(cruiser: Setup) -> None:
    setup = straight_down(cruiser, 420.0, measured=7.0)
    top, end = setup.lines[0].stations
    stations = (replace(top, measured=How.EYEBALLED), replace(end, measured=2.0))
    setup = replace(setup, lines=(replace(setup.lines[0], stations=stations),))
    found = {one.key: one.sd for one in inputs(setup, stock=False)}
    assert [found["station", "lead", 0, axis] for axis in range(3)] == [10.0] * 3
    assert [found["station", "lead", 1, axis] for axis in range(3)] == [2.0] * 3
    assert found["length", "lead"] == 7.0
    assert found["stiffness", "lead"] == 0.3


def test_what_is_not_measured_counts_for_more_its_angles_too(cruiser: Setup) -> None:
    unmeasured = How.NOT_MEASURED
    controls = tuple(replace(one, measured=unmeasured) for one in cruiser.controls)
    setup = replace(cruiser, controls=controls, uncertainty=Uncertainty())
    setup = replace(setup, machine=replace(setup.machine, measured=unmeasured))
    found = {one.key: one.sd for one in inputs(setup, stock=False)}
    name = cruiser.controls[0].name
    assert found["control", name, "new", "inboard"] == 25.0
    assert found["control", name, "new", "rotation"] == math.radians(5.0)
    assert found["machine", "riser_foot"] == 25.0
    assert found["machine", "lock_left"] == math.radians(5.0)
    assert found["bar", "new", "rise"] == 3.0


def test_every_input_has_its_part_of_the_spread(cruiser: Setup) -> None:
    line = straight_down(cruiser, 420.0)
    top, end = line.lines[0].stations
    far = replace(end, measured=How.NOT_MEASURED)
    setup = replace(line, lines=(replace(line.lines[0], stations=(top, far)),))
    sure = sure_of(setup).sure
    parts = dict(sure.parts)
    assert [mm for _, mm in sure.parts] == sorted(parts.values(), reverse=True)
    assert parts["station", "lead", 1, 2] == pytest.approx(25.0, rel=1e-3)  # straight along it
    # independent inputs: variances add up (JCGM 100:2008, 5.1.2)
    assert math.hypot(*parts.values()) == pytest.approx(sure.sigma, rel=1e-6)


def test_what_is_exact_is_no_input(cruiser: Setup) -> None:
    assert inputs(replace(cruiser, uncertainty=EXACT), stock=False) == ()


def test_a_tilt_turns_by_its_angle_and_two_tilts_are_square(cruiser: Setup) -> None:
    line = cruiser.lines[0].name
    tilts = [one for one in inputs(alone(cruiser, line), False) if "tilt" in one.key]
    assert len(tilts) == 2
    base = cruiser.line(line).stations[-1].direction
    assert base is not None
    ways = []
    for one in tilts:
        turned = one.moved(cruiser, 0.02).line(line).stations[-1].direction
        assert turned is not None
        unit = np.array(base) / np.linalg.norm(base)
        assert np.linalg.norm(turned) == pytest.approx(1.0)
        assert math.acos(unit @ turned) == pytest.approx(0.02)
        ways.append(np.array(turned) - unit)
    assert ways[0] @ ways[1] / 0.02**2 == pytest.approx(0.0, abs=0.01)


def test_a_line_alone_is_laid_out_as_among_the_others(cruiser: Setup) -> None:
    for line in cruiser.lines:
        among = next(case for case in span_cases(cruiser, False) if case.line is line)
        by_itself = span_cases(alone(cruiser, line.name), False)[0]
        np.testing.assert_array_equal(among.layout.points, by_itself.layout.points)


# --- spread --------------------------------------------------------------------------------------


def test_a_straight_line_varies_as_its_ends_and_its_length_do(cruiser: Setup) -> None:
    """Needed: the distance of the ends. Only its length and the two heights count: 3 mm each."""
    found = sure_of(straight_down(cruiser, 450.0))
    assert found.sure.slack_sigma == pytest.approx(math.sqrt(3) * 3.0, rel=0.01)
    assert found.sure.sigma == pytest.approx(found.sure.slack_sigma, rel=0.01)
    assert {cause.words for cause in found.sure.causes} == {"top, up", "end, up", "line's length"}
    for cause in found.sure.causes:
        assert cause.share == pytest.approx(3.0, rel=0.01)


def test_a_margin_within_two_sigma_is_uncertain_and_beyond_it_is_not(cruiser: Setup) -> None:
    two = sure_of(straight_down(cruiser, 450.0)).sure.two_sigma
    nominal = 450.0 - sure_of(straight_down(cruiser, 450.0)).margin
    verdicts = [
        sure_of(straight_down(cruiser, nominal + off * two)).verdict
        for off in (-1.3, -0.7, 0.7, 1.3)
    ]
    assert verdicts == [
        Verdict.SHORT,
        Verdict.UNCERTAIN,
        Verdict.UNCERTAIN,
        Verdict.REACHES,
    ]


def test_exact_numbers_leave_nothing_uncertain(cruiser: Setup) -> None:
    found = sure_of(replace(straight_down(cruiser, 450.0), uncertainty=EXACT))
    assert found.sure.sigma == found.sure.slack_sigma == 0.0
    assert found.sure.causes == ()
    assert found.sure.certain(found.margin)


def test_full_lock_that_is_uncertain_counts_where_full_lock_decides(cruiser: Setup) -> None:
    only = replace(EXACT, angle=math.radians(2.0))
    setup = replace(alone(cruiser, "throttle pull cable"), uncertainty=only)
    found = sure_of(setup)
    assert abs(found.worst_turn) == pytest.approx(cruiser.machine.lock_right)
    lock = next(one for one in inputs(setup, False) if one.key == ("machine", "lock_right"))
    more, less = (
        findings(sweep(lock.moved(setup, by), step=STEP, contact=False))[0].slack
        for by in (math.radians(2.0), -math.radians(2.0))
    )
    other = replace(setup, uncertainty=EXACT)
    assert found.slack == pytest.approx(sure_of(other).slack)
    assert found.sure.slack_sigma >= 0.5 * abs(more - less) > 0.5


def test_unknown_poses_leave_the_spread_unknown(cruiser: Setup) -> None:
    swept = sweep(straight_down(cruiser, 450.0), step=STEP, contact=False)
    lost = replace(swept.lines[0], converged=np.zeros_like(swept.lines[0].converged))
    seen = observations(swept.setup, swept)
    found = sureness(replace(swept, lines=(lost,)), span_needs(swept), seen)
    assert found == {"lead": NOT_KNOWN}


# --- found slack ---------------------------------------------------------------------------------


def test_the_update_of_one_number_is_the_weighted_mean() -> None:
    """Two estimates of one number, 0 ± 2 and 3 ± 1: closed form, weights 1/variance."""
    after = update(np.array([[2.0]]), np.array([3.0]), np.array([1.0]))
    assert 2.0 * after.mean[0] == pytest.approx(3.0 * 1.0 / (1.0 + 0.25))
    assert 4.0 * after.covariance[0, 0] == pytest.approx(1.0 / (1.0 + 0.25))


def test_nothing_observed_changes_nothing() -> None:
    after = update(np.zeros((0, 3)), np.zeros(0), np.zeros(0))
    np.testing.assert_array_equal(after.mean, np.zeros(3))
    np.testing.assert_array_equal(after.covariance, np.eye(3))


def test_an_error_of_the_length_alone_cancels_from_the_new_bars(cruiser: Setup) -> None:
    """The line is 12 mm shorter than the file says; its slack on the stock machine tells."""
    only = replace(EXACT, length=20.0, found_slack=0.1)
    setup = replace(alone(cruiser, "clutch cable"), uncertainty=only)
    truth = replace(setup, lines=(replace(setup.lines[0], length=setup.lines[0].length - 12.0),))
    stock = sweep(truth, stock=True, step=STEP, contact=False).lines[0].slack[0]
    found = FoundSlack(right=float(stock[0]), left=float(stock[-1]))
    told = replace(setup, lines=(replace(setup.lines[0], found_slack=found),))
    plain, after, real = sure_of(setup), sure_of(told), sure_of(truth)
    assert plain.sure.sigma == pytest.approx(20.0, rel=1e-3)
    assert after.sure.before == pytest.approx(20.0, rel=1e-3)
    assert after.sure.sigma < 0.1
    assert after.margin == pytest.approx(real.margin, abs=0.1)
    assert after.slack == pytest.approx(real.slack, abs=0.1)
    assert after.sure.margin_by == pytest.approx(-12.0, abs=0.1)
    # what to order hangs on the way, not on the length of the old line
    assert after.needed == pytest.approx(plain.needed, abs=0.1)


def test_what_is_known_of_the_new_bar_does_not_change_with_slack_on_the_old(cruiser: Setup) -> None:
    setup = replace(alone(cruiser, "clutch cable"), uncertainty=EXACT)
    assert isinstance(setup.new.bar, Bar)
    assert setup.new.bar != setup.stock.bar
    doubtful = replace(setup.new.bar, measured=6.0)
    setup = replace(setup, new=replace(setup.new, bar=doubtful))
    slack = sweep(setup, stock=True, step=STEP, contact=False).lines[0].slack[0, 0]
    told = replace(setup.lines[0], found_slack=FoundSlack(right=float(slack), measured=1.0))
    after = sure_of(replace(setup, lines=(told,)))
    assert after.sure.sigma == pytest.approx(sure_of(setup).sure.sigma)
    assert after.sure.sigma > 1.0


def test_slack_that_contradicts_the_file_corrects_nothing_and_is_told(cruiser: Setup) -> None:
    setup = straight_down(cruiser, 480.0)
    expected = sure_of(setup, stock=True)
    far = expected.slack + 3.5 * math.hypot(expected.sure.slack_sigma, 5.0)
    told = replace(setup, lines=(replace(setup.lines[0], found_slack=FoundSlack(straight=far)),))
    after = sure_of(told)
    (odd,) = after.sure.odd
    assert (odd.turn, odd.found) == (0.0, far)
    assert odd.expected == pytest.approx(expected.slack, abs=0.1)
    assert after.sure.margin_by == 0.0
    assert after.sure.sigma == pytest.approx(expected.sure.sigma)
    assert after.verdict is Verdict.UNCERTAIN
    near = replace(setup.lines[0], found_slack=FoundSlack(straight=far - 20.0))
    assert sure_of(replace(setup, lines=(near,))).sure.odd == ()


def test_slack_of_one_line_tells_about_another_from_the_same_outlet(cruiser: Setup) -> None:
    """The throttle cables share a housing: where it sits on the stock bar is told by either."""
    names = ("throttle pull cable", "throttle return cable")
    lines = tuple(cruiser.line(name) for name in names)
    housing = tuple(replace(c, measured=8.0) for c in cruiser.controls)
    setup = replace(cruiser, lines=lines, controls=housing, uncertainty=EXACT)
    seen = sweep(setup, stock=True, step=STEP, contact=False)
    slack = float(seen.lines[0].slack[0, 0])
    told = replace(lines[0], found_slack=FoundSlack(right=slack, measured=1.0))
    after = findings(replace(seen, setup=replace(setup, lines=(told, lines[1]))))
    assert after[1].sure.sigma < 0.5 * after[1].sure.before


@pytest.mark.parametrize("windows", [True, False])
def test_of_a_sweep_of_one_line_slack_found_on_another_counts_as_in_the_whole(
    cruiser: Setup, windows: bool
) -> None:
    names = ("throttle pull cable", "throttle return cable")
    told = FoundSlack(right=40.0, measured=2.0)
    lines = tuple(replace(cruiser.line(name), found_slack=told) for name in names)
    setup = replace(cruiser, lines=lines)
    (alone,) = findings(sweep(setup, stock=True, step=STEP, only={names[1]}), windows=windows)
    whole = findings(sweep(setup, stock=True, step=STEP), windows=windows)[1]
    assert alone.line == whole.line == names[1]
    assert alone.margin == pytest.approx(whole.margin, abs=0.05)
    assert alone.sure.sigma == pytest.approx(whole.sure.sigma, abs=0.05)
    assert alone.sure.slack_by == pytest.approx(whole.sure.slack_by, abs=0.05)


def test_a_corrected_sweep_shows_the_slack_that_the_finding_tells(cruiser: Setup) -> None:
    setup = straight_down(cruiser, 480.0)
    swept = sweep(setup, step=STEP, contact=False)
    slack = float(swept.lines[0].slack.min())
    found = FoundSlack(straight=slack + 8.0)
    told = replace(swept, setup=replace(setup, lines=(replace(setup.lines[0], found_slack=found),)))
    (finding,) = findings(told)
    assert 1.0 < finding.sure.slack_by < 8.0
    shown = corrected(told, {"lead": finding.sure.slack_by})
    line = shown.lines[0]
    assert line.slack.min() == pytest.approx(finding.slack)
    np.testing.assert_allclose(line.taut + line.slack, setup.lines[0].length)
    np.testing.assert_allclose(line.segment_slack.sum(-1), line.slack, atol=1e-6)
    assert not line.slack.flags.writeable
    assert corrected(swept, {"lead": 0.0}) is swept


def test_a_line_whose_slack_alone_is_surely_short_is_certain_whatever_its_bends_need() -> None:
    vague = Sureness(sigma=60.0, slack_sigma=8.0)
    assert not vague.certain(-50.0)
    assert vague.certain(-50.0, slack_left=-17.0)
    assert not vague.certain(-50.0, slack_left=-15.0)
    assert not Sureness(sigma=60.0, slack_sigma=0.0).certain(50.0, slack_left=3.0)
    assert not NOT_KNOWN.certain(-50.0, slack_left=-17.0)


def test_lengths_let_out_anew_agree_with_the_slope_where_a_bend_opens_well(
    cruiser: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    setup = alone(cruiser, "throttle pull cable")
    swept = sweep(setup, step=STEP, contact=False)
    (need,) = span_needs(swept)["throttle pull cable"]
    assert need.bend > need.taut
    gauge = Gauge(0, 0, need.bend_turn, need.bend_travel, need.bend)
    known = inputs(setup, stock=False)
    by_slope = slopes.slopes(swept, [gauge], known).needed[0]
    monkeypatch.setattr(slopes, "_STEEP", 0.0)
    anew = slopes.slopes(swept, [gauge], known).needed[0]
    assert not np.array_equal(anew, by_slope)
    assert np.linalg.norm(anew) == pytest.approx(np.linalg.norm(by_slope), rel=0.15)
    assert np.linalg.norm(anew - by_slope) < 0.3 * np.linalg.norm(by_slope)


def test_a_line_that_is_short_even_with_all_the_slack_found_is_certain() -> None:
    """Found slack that contradicts the file must not make a hopeless line uncertain."""
    odd = OddSlack(turn=0.0, found=41.0, expected=-460.0, spread=11.0)
    sure = Sureness(sigma=10.0, slack_sigma=9.0, odd=(odd,))
    assert sure.two_sigma == 521.0
    assert sure.certain(-552.0)
    assert not sure.certain(-515.0)  # with the 501 mm more it may be -14: within the band
    assert not sure.certain(552.0)
    assert not sure.certain(-515.0, slack_left=-510.0)
    assert sure.certain(-515.0, slack_left=-525.0)
    less = Sureness(sigma=10.0, slack_sigma=9.0, odd=(OddSlack(0.0, 10.0, 300.0, 11.0),))
    assert less.certain(-40.0)  # what was found makes it shorter still
    lost = Sureness(sigma=10.0, slack_sigma=9.0, odd=(OddSlack(0.0, 10.0, math.nan, math.nan),))
    assert lost.certain(-40.0)
    assert not lost.certain(40.0)


def test_slack_stays_known_to_a_bound_where_a_slope_of_it_was_not_found() -> None:
    """One rod in dozens that finds no rest must not hide that a line is half a metre short."""
    learnt = Posterior(np.zeros(2), np.eye(2))
    now = [
        Input((name,), name, "forward", 3.0, frozenset({"lead"}), lambda setup, by: setup)
        for name in ("tie", "plug")
    ]
    nan = math.nan
    sure = _sureness(
        learnt,
        now,
        margin=np.array([nan, 2.0]),
        needed=np.array([nan, 2.0]),
        slack=np.array([nan, 2.0]),
        most=np.array([6.0, 3.0]),
        odd=(),
    )
    assert math.isnan(sure.sigma)
    assert sure.slack_sigma == pytest.approx(2.0 + 6.0)
    assert sure.certain(-568.0, slack_left=-552.0)
    assert not sure.certain(-40.0, slack_left=-15.0)


def test_a_taut_length_changes_no_more_than_its_holds_move(cruiser: Setup) -> None:
    """The bound against the slopes that are found."""
    setup = alone(cruiser, "clutch cable")
    swept = sweep(setup, step=STEP, contact=False)
    gauge = Gauge(0, 0, float(swept.angles[0]), 0.0)
    found = slopes.slopes(swept, [gauge], inputs(setup, stock=False))
    moved = found.most[0] > 0.0
    assert moved.sum() > 10
    assert (np.abs(found.needed[0]) <= found.most[0] + 0.05)[moved].all()


def test_slack_found_on_an_old_line_tells_of_the_way_of_the_new_one(cruiser: Setup) -> None:
    """Only lengths are uncertain, each by 20 mm. The old line was 12 mm shorter than measured; the
    new one, 50 mm longer, has an error of its own of which the old one's slack says nothing."""
    only = replace(EXACT, length=20.0, found_slack=0.1)
    setup = replace(alone(cruiser, "clutch cable"), uncertainty=only)
    old = setup.lines[0]
    short = replace(old, length=old.length - 12.0)
    truth = replace(setup, lines=(short,))
    stock = sweep(truth, stock=True, step=STEP, contact=False).lines[0].slack[0]
    found = FoundSlack(right=float(stock[0]), left=float(stock[-1]), length=old.length)
    new = replace(old, length=old.length + 50.0, found_slack=found)
    after = sure_of(replace(setup, lines=(new,)))
    assert after.sure.odd == ()
    assert after.sure.margin_by == pytest.approx(0.0, abs=1e-6)
    assert after.sure.sigma == pytest.approx(20.0, rel=1e-3)
    # taken for slack of the new line it is 62 mm off, more than three times 20
    same = replace(new, found_slack=replace(found, length=None))
    assert len(sure_of(replace(setup, lines=(same,))).sure.odd) == 2


def test_slack_found_on_an_old_line_tells_of_its_fittings(cruiser: Setup) -> None:
    """Where only places are uncertain, slack found on the old line narrows the new one's margin as
    it did the old one's."""
    setup = replace(alone(cruiser, "clutch cable"), uncertainty=replace(EXACT, tape=3.0))
    old = setup.lines[0]
    slack = sweep(setup, stock=True, step=STEP, contact=False).lines[0].slack[0]
    found = FoundSlack(right=float(slack[0]), left=float(slack[-1]), measured=1.0)
    before = sure_of(replace(setup, lines=(replace(old, found_slack=found),)))
    kept = replace(found, length=old.length)
    new = replace(old, length=old.length + 50.0, found_slack=kept)
    after = sure_of(replace(setup, lines=(new,)))
    assert before.sure.sigma < before.sure.before
    assert after.sure.sigma == pytest.approx(before.sure.sigma, rel=1e-3)
    assert after.margin == pytest.approx(before.margin + 50.0, abs=0.1)
