"""Figures of control cables on sweeps made by hand, and what is said of them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest
from made_findings import finding, rad
from made_sweeps import RADIUS, line_sweep, made_sweep

from barfit import scenario
from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict
from barfit.analysis.stops import LineStops, Stop
from barfit.analysis.uncertainty import Sureness
from barfit.analysis.window import Limit, Window
from barfit.catalogue import scenario_dir
from barfit.model import Cable, Lining, Setup
from barfit.report.remark_facts import remark_sections
from barfit.report.remarks import Remark
from barfit.report.trade.cables import cable_remarks
from barfit.trade import Grade
from barfit.trade.cables import CableFigures, cables
from barfit.trade.free_play import used_up
from barfit.trade.laid import Laid

ANGLES = np.radians([-30.0, -15.0, 0.0, 15.0, 30.0])
CRUISER = scenario.load(scenario_dir() / "tall-bar-cruiser.toml")
TWIN = scenario.load(scenario_dir() / "old-twin.toml")
PULL, RETURN, CLUTCH = "throttle pull cable", "throttle return cable", "clutch cable"
BRAKE = "front brake cable"
SLACK = [30.0, 30.0, 30.0, 30.0, 30.0]


def one_sweep(
    name: str,
    degrees: Iterable[float],
    slack: Iterable[float] = SLACK,
    travels: tuple[float, ...] = (0.0,),
) -> LineSweep:
    return line_sweep(
        name,
        np.radians(np.reshape(list(degrees), (len(travels), -1))),
        np.reshape(list(slack), (len(travels), -1)),
        travels,
    )


def figures(
    now: LineSweep,
    before: LineSweep,
    setup: Setup = CRUISER,
    cable: Cable | None = None,
    **changes: object,
) -> CableFigures:
    lines = tuple(replace(one, cable=cable or one.cable) for one in setup.lines)
    setup = replace(setup, lines=lines)
    found = finding(Verdict.REACHES, line=now.name, **changes)
    one = cables(made_sweep(setup, ANGLES, now), made_sweep(setup, ANGLES, before), (found,))
    return one[0]


def said(figures: CableFigures, setup: Setup = CRUISER, unit: str = "mm") -> dict[str, Remark]:
    return {one.key: one for one in cable_remarks(figures, setup, unit)}


STOCK = one_sweep(PULL, [200, 210, 220, 230, 240])


def test_bend_and_friction_are_the_worst_of_the_sweep_beside_the_worst_of_the_stock_bars() -> None:
    one = figures(one_sweep(PULL, [290, 280, 270, 260, 250]), STOCK, cable=Cable(pull=30.0))
    assert one.total_bend.value == pytest.approx(rad(290), rel=1e-6)
    assert one.total_bend.stock == pytest.approx(rad(240), rel=1e-6)
    assert one.total_bend.turn == pytest.approx(rad(-30))
    assert one.total_bend.grade is Grade.CAUTION  # beyond 270°
    assert one.bend_growth.value == pytest.approx(rad(50), rel=1e-6)
    assert one.bend_growth.grade is Grade.FINE  # not beyond 60°
    friction = one.friction
    assert friction is not None
    # nylon: 0.12, from 0.08 to 0.18
    assert friction.hand_force.value == pytest.approx(math.exp(0.12 * rad(290)), rel=1e-6)
    assert friction.hand_force.stock == pytest.approx(math.exp(0.12 * rad(240)), rel=1e-6)
    assert friction.hand_force.limit == pytest.approx(1.15 * friction.hand_force.stock)
    assert friction.return_force.value == pytest.approx(1.0 / friction.hand_force.value)
    assert friction.return_force.grade is Grade.FINE  # less by 9.9 %; 10 % would do
    assert friction.rise == pytest.approx([math.expm1(mu * rad(50)) for mu in (0.08, 0.18)])
    assert friction.pull is not None
    assert friction.pull.value == pytest.approx(30.0 * math.exp(0.12 * rad(50)), rel=1e-6)
    # pull at the grip and what is left of it at the throttle, on 76 % of a 1.5 mm circle
    mean = 0.5 * (friction.pull.value + 30.0 * math.exp(-0.12 * rad(240)))
    area = 0.76 * math.pi * 0.75**2
    assert friction.stretch.value == pytest.approx(mean * 795.0 / (area * 150e3), rel=1e-6)
    assert friction.backlash.value == pytest.approx(0.7 * rad(290), rel=1e-6)


def test_an_unlined_cable_minds_more_than_a_lined_one() -> None:
    now = one_sweep(PULL, [290, 280, 270, 260, 250])
    rises = []
    for lining in Lining:
        one = figures(now, STOCK, cable=Cable(lining=lining)).friction
        assert one is not None
        rises.append(one.hand_force.value / one.hand_force.stock)
    assert rises == sorted(rises)
    assert rises[0] == pytest.approx(math.exp(0.08 * rad(50)), rel=1e-6)
    assert rises[-1] == pytest.approx(math.exp(0.30 * rad(50)), rel=1e-6)


def test_more_bend_than_that_is_told_and_what_can_hurt_once() -> None:
    one = figures(one_sweep(PULL, [320, 310, 300, 290, 280]), STOCK)
    words = {key: remark.words() for key, remark in said(one).items() if remark.sentence}
    assert list(words) == [
        "cable_total_bend",
        "cable_bend_growth",
        "cable_hand_force",
        "cable_return_force",
    ]
    assert words["cable_total_bend"] == (
        "Throttle pull cable bends through 320° in all at 30° right, 240° with the stock bars; "
        "beyond 270° it grows stiff to work. Take bends out of its way. At both locks, first with "
        "the engine off, then running, the throttle must snap shut by itself, and engine speed "
        "must not change as the bar turns."
    )
    assert words["cable_bend_growth"] == (
        "Throttle pull cable bends through 80° more than with the stock bars."
    )
    assert words["cable_hand_force"] == (
        "Throttle pull cable takes 18 % more pull than with the stock bars at 30° right (12 % to "
        "29 %, as smooth or rough as its bore may be). Fewer or wider turns, or a lined cable, "
        "make it lighter."
    )
    assert words["cable_return_force"] == (
        "Friction in the throttle pull cable leaves its spring 15 % less force to close the "
        "throttle than with the stock bars at 30° right."
    )


def test_what_does_not_reach_everywhere_is_not_judged_by_where_it_does() -> None:
    for slack in ([-5.0, 3, 10, 12, 9], [30.0, 30, 30, 30, math.nan]):
        one = figures(one_sweep(PULL, [300, 230, 220, 210, slack[-1] + 200], slack), STOCK)
        assert math.isnan(one.total_bend.value)
        assert one.total_bend.grade is Grade.NOT_KNOWN
        assert one.total_bend.stock == pytest.approx(rad(240), rel=1e-6)
    short = figures(one_sweep(PULL, [150] * 5, [-5.0] * 5), STOCK)
    assert math.isnan(short.total_bend.value)
    assert short.total_bend.stock == pytest.approx(rad(240), rel=1e-6)
    assert short.friction is not None
    assert short.friction.return_force.grade is Grade.NOT_KNOWN
    told = said(replace(short, verdict=Verdict.SHORT))["cable_total_bend"]
    assert told.words() == (
        "Throttle pull cable is too short for its bends and friction to be told."
    )


def laid_longer(
    monkeypatch: pytest.MonkeyPatch, slack: float, **bends: float
) -> tuple[CableFigures, CableFigures, dict[str, float]]:
    """The throttle pair of the cruiser, 34 mm too short, and as it lies made longer."""
    asked: dict[str, float] = {}

    def laid(swept: Sweep, _found: object, lengths: dict[str, float], _step: float) -> object:
        asked.update(lengths)
        degrees = {PULL: bends["pull"], RETURN: bends["back"]}
        lines = [one_sweep(name, [value] * 5, [slack] * 5) for name, value in degrees.items()]
        again = made_sweep(CRUISER, ANGLES, *lines)
        return {one.name: Laid(again, one, lengths[one.name]) for one in lines}

    monkeypatch.setattr(import_module("barfit.trade.cables"), "lay_out", laid)
    tight = [one_sweep(name, [150] * 5, [9, 9, 9, 0, -6]) for name in (PULL, RETURN)]
    stock = made_sweep(CRUISER, ANGLES, STOCK, one_sweep(RETURN, [285] * 5))
    found = (short(PULL, 34.0, 160.0), short(RETURN, -5.0, 120.0))
    pull, back = cables(made_sweep(CRUISER, ANGLES, *tight), stock, found)
    return pull, back, asked


def test_a_cable_to_be_replaced_is_judged_at_the_length_to_order(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pull, back, asked = laid_longer(monkeypatch, 20.0, pull=310.0, back=280.0)
    before = {name: CRUISER.line(name).length for name in (PULL, RETURN)}
    assert asked == {name: length + 50.0 for name, length in before.items()}  # as a pair
    assert pull.total_bend.value == pytest.approx(rad(310), rel=1e-6)
    assert pull.total_bend.grade is Grade.CAUTION
    assert pull.friction is not None
    assert pull.friction.hand_force.value == pytest.approx(math.exp(0.12 * rad(310)), rel=1e-6)
    assert (pull.length.value, pull.length.stock) == (before[PULL] + 50.0, before[PULL])
    assert pull.play is not None
    assert pull.play.kept.value == 0.0  # of the cable as it is
    told = said(pull)
    assert told["cable_length"].term == "Length, if replaced"
    assert told["cable_total_bend"].sentence == (
        "Throttle pull cable, if made 50 mm longer, bends through 310° in all at 30° right, 240° "
        "with the stock bars; beyond 270° it grows stiff to work."
    )
    assert "the throttle pull cable, if made 50 mm longer, leaves" in (
        told["cable_return_force"].sentence
    )
    # beyond the limit, but no worse than it was: nothing that these bars do
    assert back.total_bend.grade is Grade.NOTE
    assert said(back)["cable_total_bend"].words() == (
        "Throttle return cable, if made 50 mm longer, bends through 280° in all at 30° right: "
        "beyond 270° it grows stiff to work, but it was 285° with the stock bars."
    )


def test_a_longer_cable_that_does_not_lie_everywhere_is_not_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pull, _, _ = laid_longer(monkeypatch, math.nan, pull=math.nan, back=280.0)
    assert pull.total_bend.grade is pull.radius.grade is Grade.NOT_KNOWN
    assert pull.friction is not None
    assert pull.friction.hand_force.grade is Grade.NOT_KNOWN
    assert said(pull)["cable_total_bend"].sentence == (
        "How the throttle pull cable, if made 50 mm longer, bends and drags is not known."
    )


def test_bend_beyond_the_limit_is_a_caution_only_where_it_has_grown() -> None:
    for stock, grade in ((300, Grade.NOTE), (289.5, Grade.NOTE), (288, Grade.CAUTION)):
        one = figures(one_sweep(PULL, [290] * 5), one_sweep(PULL, [stock] * 5))
        assert one.total_bend.grade is grade


def test_free_play_follows_the_bend_by_the_radial_clearance() -> None:
    one = figures(STOCK, STOCK)
    assert one.play is not None
    # set to 3 mm straight ahead; 20° less bend at right lock take 0.35 mm a radian
    assert one.play.kept.value == pytest.approx(3.0 - 0.35 * rad(20), rel=1e-6)
    assert one.play.kept.turn == pytest.approx(rad(-30))
    assert one.play.kept.grade is Grade.FINE
    assert one.play.change.value == pytest.approx(0.35 * rad(40), rel=1e-6)
    assert one.play.change.grade is Grade.FINE
    wide = figures(STOCK, STOCK, cable=Cable(wire=1.0, bore=4.5))
    assert wide.play is not None
    assert wide.play.change.value == pytest.approx(1.75 * rad(40), rel=1e-6)
    assert said(wide)["cable_free_play_change"].sentence == (
        "Free play of the throttle pull cable changes by 1.2 mm as the bar turns; common practice "
        "allows 1.0 mm."
    )


@pytest.mark.parametrize(
    ("name", "setup", "grade", "may"),
    [
        (PULL, CRUISER, Grade.REJECT, "engine speed may rise"),
        (RETURN, CRUISER, Grade.REJECT, "the throttle may bind"),
        (CLUTCH, CRUISER, Grade.CAUTION, "the clutch may slip"),
        (BRAKE, TWIN, Grade.REJECT, "the brake may come on by itself"),
        ("throttle cable", TWIN, Grade.REJECT, "engine speed may rise"),
        ("choke cable", TWIN, Grade.CAUTION, "the choke may come on by itself"),
    ],
)
def test_a_conduit_that_goes_tight_uses_up_free_play(
    name: str, setup: Setup, grade: Grade, may: str
) -> None:
    now = one_sweep(name, [200] * 5, [9, 9, 9, 0, -6])
    stops = LineStops(left=Stop(rad(15), 0.0))
    one = figures(now, one_sweep(name, [200] * 5), setup, Cable(free_play=3.0), stops=stops)
    assert one.play is not None
    assert one.play.kept.grade is grade
    assert one.play.kept.value == 0.0
    assert one.play.used_right is None
    assert one.play.used_left == pytest.approx(rad(22.5))  # half way from 3 to -3
    told = said(one, setup)["cable_free_play"]
    assert told.sentence == (
        f"{name.capitalize()} goes tight at 15.0° left and has no free play left beyond 22.5° "
        f"left: {may} there."
    )
    assert not told.hint  # an adjuster does not cure a conduit that is too short
    assert bool(told.caution) is (name != "choke cable")


def test_a_conduit_that_only_just_goes_tight_is_worth_a_caution() -> None:
    stops = LineStops(left=Stop(rad(25), 0.0))
    one = figures(one_sweep(PULL, [200] * 5, [9, 9, 9, 5, -1]), STOCK, stops=stops)
    assert one.play is not None
    assert one.play.kept.grade is Grade.CAUTION
    assert said(one)["cable_free_play"].sentence == (
        "Throttle pull cable goes tight at 25.0° left and pulls at its seats: engine speed may "
        "rise from there on."
    )


def test_too_little_free_play_can_be_set_again() -> None:
    one = figures(STOCK, STOCK, cable=Cable(free_play=0.5))
    told = said(one)["cable_free_play"]
    assert told.grade is Grade.CAUTION
    assert told.sentence == (
        "Throttle pull cable keeps no more than 0.4 mm of free play at 30° right: engine speed may "
        "rise."
    )
    assert told.hint == "Set it so that 2.0 mm to 4.0 mm are left at either lock."
    none = said(figures(STOCK, STOCK, cable=Cable(free_play=0.1)))["cable_free_play"]
    assert none.grade is Grade.REJECT
    assert none.sentence.startswith("Throttle pull cable has no free play left beyond 24.")
    everywhere = said(figures(STOCK, STOCK, cable=Cable(free_play=0.0)))["cable_free_play"]
    assert "even straight ahead: engine speed may rise at every turn." in everywhere.sentence


def test_a_cable_that_only_the_fork_pulls_tight_says_so() -> None:
    slack = [*[-9.0] * 5, *SLACK]
    now = one_sweep(BRAKE, [200] * 10, slack, travels=(-40.0, 0.0))
    one = figures(now, now, TWIN)
    assert one.play is not None
    assert not one.play.used_riding
    told = said(one, TWIN)["cable_free_play"]
    assert told.sentence == (
        "Front brake cable has no free play left with the fork extended: the brake may come on by "
        "itself then."
    )
    assert told.caution.startswith("There must be free play at the brake lever at both locks")


def test_slack_found_on_the_machine_counts() -> None:
    now = one_sweep(PULL, [200] * 5, [9, 9, 9, 0, -6])
    one = figures(now, STOCK, sure=Sureness(slack_by=8.0))
    assert one.play is not None
    assert one.play.kept.grade is Grade.FINE


def test_free_play_that_is_not_known_is_not_fine() -> None:
    now = one_sweep(PULL, [200, 200, math.nan, 200, 200])
    one = figures(now, STOCK)
    assert one.play is not None
    assert one.play.kept.grade is Grade.NOT_KNOWN


def test_used_up_on_the_straight_between_poses() -> None:
    assert used_up(ANGLES, np.array([3.0, 3, 3, 3, 3])) == (None, None)
    assert used_up(ANGLES, np.array([-1.0, 1, 3, 0, 3])) == pytest.approx((rad(-22.5), rad(15)))
    assert used_up(ANGLES, np.array([1.0, 1, -1, 1, 1])) == (0.0, 0.0)
    assert used_up(ANGLES, np.array([-1.0, math.nan, 1, 1, 1])) == (rad(-30), None)


def test_a_speedometer_cable_turns_and_does_not_slide() -> None:
    name = "speedometer cable"
    now = one_sweep(name, [280] * 5)
    one = figures(now, one_sweep(name, [200] * 5), TWIN)
    assert one.friction is one.play is None
    keys = said(one, TWIN)
    assert list(keys) == ["cable_total_bend", "cable_bend_growth", "cable_radius"]
    assert "its core runs unevenly and wears" in keys["cable_total_bend"].sentence
    assert keys["cable_radius"].limit_text("mm") == "80 mm"  # its own


def test_a_radius_below_what_is_allowed_and_one_that_could_be_kinder() -> None:
    clutch = figures(one_sweep(CLUTCH, [200] * 5), one_sweep(CLUTCH, [200] * 5))
    assert clutch.radius.value == RADIUS
    assert clutch.radius.grade is Grade.FINE  # 80 mm are allowed
    assert said(clutch)["cable_radius"].sentence == (
        "Clutch cable bends to a radius of 80 mm; 120 mm would be kinder to it."
    )
    tight = replace(clutch, radius=replace(clutch.radius, limit=90.0, grade=Grade.CAUTION))
    assert said(tight)["cable_radius"].sentence == (
        "Clutch cable bends to a radius of 80 mm at 30° right, tighter than the 90 mm allowed: it "
        "drags and wears there."
    )
    told = said(replace(tight, verdict=Verdict.BEND_TOO_TIGHT))["cable_radius"]
    assert not told.sentence  # its verdict says so


def test_in_the_side_panel_a_figure_stands_over_what_it_is_held_against() -> None:
    one = figures(one_sweep(PULL, [320, 310, 300, 290, 280]), STOCK)
    (section,) = remark_sections(cable_remarks(one, CRUISER, "mm"), "mm")
    bend = next(fact for fact in section.facts if fact.term == "Total bend")
    assert (bend.value, bend.beside) == ("320°", "stock 240°, limit 270°")
    assert bend.grade is Grade.CAUTION
    assert bend.turn == pytest.approx(rad(-30))
    assert section.notes[0] == said(one)["cable_total_bend"].words()


def short(name: str, by: float, longest: float, **changes: object) -> LineFinding:
    """A cable that needs ``by`` mm more, where no more than ``longest`` mm more are sensible."""
    sensible = Window(795.0 + by, 795.0 + longest, Limit.BOW, 0.0, 0.0, ("a", "b"), 100.0, True)
    verdict = Verdict.SHORT if by > 0.0 else Verdict.REACHES
    plain = finding(verdict, line=name, margin=-by, needed=795.0 + by, window=sensible)
    return replace(plain, **changes)  # type: ignore[arg-type]


def grown(*found: LineFinding) -> list[CableFigures]:
    lines = [one_sweep(one.line, [200] * 5) for one in found]
    swept = made_sweep(CRUISER, ANGLES, *lines)
    return list(cables(swept, swept, found))


def words(one: CableFigures) -> str:
    return said(one)["cable_growth"].words()


def test_a_pair_is_replaced_as_one_by_the_same_growth() -> None:
    pull, back = grown(short(PULL, 34.0, 160.0), short(RETURN, -5.0, 120.0))
    assert pull.growth is not None
    assert back.growth is not None
    assert pull.growth.by.value == back.growth.by.value == 34.0
    assert pull.growth.most == 120.0
    assert pull.growth.size == 50.0
    assert words(pull).startswith(
        "If the throttle pull cable or the throttle return cable is replaced, both are: at least "
        "34 mm longer; the least size sold that is long enough is 50 mm longer. A control cable is "
        "never extended; outer and inner grow by the same length. Never swap pull and return."
    )
    assert words(back).startswith(
        "Throttle return cable: if it or the throttle pull cable is replaced, both are, by as "
        "much. Never swap pull and return."
    )
    pull, back = grown(short(PULL, 34.0, 45.0), short(RETURN, 60.0, 90.0))
    assert "no one growth suits both, 60 mm is needed and no more than 45 mm sensible" in words(
        pull
    )


def test_a_single_cable_is_replaced_by_the_next_size_or_made_up() -> None:
    assert (
        "at least 51 mm longer; the least size sold that is long enough is 100 mm longer"
        in words(grown(short(CLUTCH, 51.0, 150.0))[0])
    )
    assert "made up 51 mm to 90 mm longer" in words(grown(short(CLUTCH, 51.0, 90.0))[0])
    unlimited = grown(short(CLUTCH, 51.0, math.inf))[0]
    assert (
        "at least 51 mm longer; the least size sold that is long enough is 100 mm longer"
        in words(unlimited)
    )
    unknown = grown(short(CLUTCH, 51.0, math.nan))[0]
    assert "at least 51 mm longer; how much longer is sensible is not known" in words(unknown)
    assert grown(short(CLUTCH, -5.0, 90.0))[0].growth is None
    hopeless = short(CLUTCH, 51.0, 90.0, needed=math.nan, margin=math.nan)
    assert grown(hopeless)[0].growth is None
