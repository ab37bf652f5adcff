"""Parts that look at the same thing from different sides say the same of it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from barfit import cli, edits, scenario
from barfit.analysis import LineFinding, Verdict, findings, sweep
from barfit.analysis.lengths import span_needs
from barfit.analysis.window import Limit
from barfit.commands.plan import planned_of
from barfit.model import Choice, Setup
from barfit.remedies.freed import freed
from barfit.remedies.spoilt import spoilt
from barfit.scenario import save
from barfit.ui.background import compute
from barfit.workshop.checks import checks

CLUTCH = "clutch cable"


@cache
def bundled(name: str) -> Setup:
    return scenario.load(next(p for p in scenario.bundled() if p.stem == name))


def alone(name: str, line: str) -> Setup:
    setup = bundled(name)
    return replace(setup, lines=(setup.line(line),))


def of_length(setup: Setup, line: str, length: float) -> LineFinding:
    own = replace(setup.line(line), length=length, found_slack=None)
    (found,) = findings(sweep(replace(setup, lines=(own,))))
    return found


def test_no_sensible_length_bends_too_tightly() -> None:
    """The cable bows into a tighter bend the longer it is: its window ends where it would."""
    setup = alone("old-twin", CLUTCH)
    (found,) = findings(sweep(setup))
    window = found.window
    assert window is not None
    assert window.limit is Limit.BEND
    assert window.needed + 10.0 < window.longest
    inside = of_length(setup, CLUTCH, window.longest - 3.0)
    beyond = of_length(setup, CLUTCH, window.longest + 5.0)
    assert inside.verdict is not Verdict.BEND_TOO_TIGHT
    assert beyond.verdict is Verdict.BEND_TOO_TIGHT
    assert beyond.min_radius < beyond.allowed_radius <= inside.min_radius


def test_a_hairs_breadth_between_two_lengths_decides_no_band() -> None:
    """The taut and the bend-limited length of this harness differ by 0.03 mm where it is made up
    longer, and one of them hangs on the setup half as much again: alone or among all lines, its
    band is one and the same.
    """
    name = "left switch harness"
    whole = bundled("tall-bar-cruiser")
    line = whole.line(name)
    assert line.found_slack is not None
    longer = replace(line, length=795.0, found_slack=replace(line.found_slack, length=645.0))
    setup = replace(whole, lines=tuple(longer if x.name == name else x for x in whole.lines))
    (own,) = findings(sweep(setup, only=(name,)))
    among = next(one for one in findings(sweep(setup)) if one.line == name)
    assert own.sure.two_sigma == pytest.approx(among.sure.two_sigma, abs=0.05)
    assert own.margin == pytest.approx(among.margin, abs=0.05)


def test_a_bar_rolled_back_is_told_with_the_hand_it_traps() -> None:
    setup = bundled("old-twin")
    rolled = edits.change_bar(setup, False, roll=setup.new.bar.roll + 0.17)
    found = [one for one in spoilt(setup, rolled) if one.what == "hand_gap"]
    assert found
    assert all(one.forbids for one in found)
    assert all(one.now.value < one.now.limit for one in found)
    same = [one for one in spoilt(setup, setup) if one.what == "hand_gap"]
    assert same
    assert not any(one.worse for one in same)  # as bad as it is, and still said


def test_a_line_without_its_guide_is_told_what_it_comes_near() -> None:
    """The nearest it comes to a stop is found from its shapes by hand."""
    from barfit.geometry.parts import shape_distance
    from barfit.geometry.pose import body_motion

    line = "choke cable"
    setup = alone("old-twin", line)
    stations = setup.line(line).stations
    index = next(k for k, one in enumerate(stations) if one.name == "guide left of the head tube")
    without = edits.delete_station(setup, line, index)
    before, there = sweep(setup), sweep(without)
    (finding,) = findings(there)
    found = freed(before, finding, there, "guide left of the head tube")
    assert found is not None
    assert found.between == (stations[index - 1].name, stations[index + 1].name)
    assert found.unheld > 100.0
    assert found.nears
    solids = {solid.name: solid for solid in setup.machine.solids}
    swept = there.line(line)
    for near in found.nears:
        solid, nearest = solids[near.part], []
        for at, turn in enumerate(there.angles):
            turned, shift = body_motion(setup.machine, solid.body, float(turn), 0.0)
            back = (swept.shapes[0, at] - shift) @ turned
            away = shape_distance(solid.shape, back)
            held = abs(swept.arc[:, None] - swept.stations_at[0, at][None]).min(axis=1) < 40.0
            nearest.append(min(away[~held]) - 0.5 * setup.line(line).diameter)
        assert near.gap == pytest.approx(min(nearest), abs=0.01)


def test_wires_inside_the_bar_are_told_from_where_they_come_out() -> None:
    """What holds them before the hole is none of the stations that are solved."""
    line = "left switch harness"
    setup = alone("hidden-wires", line)
    names = [one.name for one in setup.line(line).stations]
    before = sweep(setup, step=0.2)
    hole, *_, last = before.line(line).spans[0].case.layout.names[1:]
    for held in names[1:-1]:
        without = edits.delete_station(setup, line, names.index(held))
        there = sweep(without, step=0.2)
        (finding,) = findings(there)
        found = freed(before, finding, there, held)
        outside = held in before.line(line).spans[0].case.layout.names
        assert (found is not None) == outside
        if found is not None:
            assert hole == found.between[0] or found.between[0] in names
            assert found.between[1] in (*names, last)


def test_a_choice_that_is_gone_is_said_by_every_command(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    name = "left switch harness"
    setup = alone("old-twin", name)
    gone = Choice(name, "reroute-drop:tie that went with an edit")
    path = tmp_path / "small.toml"
    save(replace(setup, job=replace(setup.job, choices=(gone,))), path)
    for command in ("remedies", "order", "plan"):
        cli.run([command, str(path)])
        out = " ".join(capsys.readouterr().out.split())
        assert (
            f"What was chosen for the {name} (leave out 'tie that went with an edit') cannot be "
            "done any more" in out
        ), command


def test_the_windows_check_list_is_the_commands() -> None:
    """Slack found on the old line goes on telling of the new one's way in both."""
    name = "front brake cable"
    setup = alone("old-twin", name)
    planned = planned_of("", setup, True, None, date(2027, 3, 1), "")
    done = planned.worked.together.setup
    assert done.line(name).length > setup.line(name).length
    assert done.line(name).found_slack is not None
    after = compute(done, False, lambda _: None, lambda: False)
    assert planned.checks == checks(after.sweep, after.findings, after.trade, planned.tasks, setup)
    assert any(one.predicted == one.predicted for one in planned.checks or ())


def test_check_buys_nothing_and_points_to_what_can_be_done(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """What is said of another length is said of the case that the line is replaced."""
    path = tmp_path / "small.toml"
    save(alone("old-twin", "choke cable"), path)
    assert cli.run(["check", str(path)]) == 1
    out = capsys.readouterr().out
    assert "If the choke cable is replaced: at least" in out
    assert "to be replaced" not in out
    assert "`barfit remedies`" in out


def test_without_windows_all_else_is_found_the_same() -> None:
    """What remedies are judged by leaves out what no verdict hangs on."""
    setup = bundled("old-twin")
    cable = setup.line("choke cable")
    long = replace(cable, length=cable.length + 160.0, found_slack=None)
    mixed = (long, setup.line("left switch harness"), setup.line("speedometer cable"))
    swept = sweep(replace(setup, lines=mixed))
    whole, without = findings(swept), findings(swept, windows=False)
    assert {one.verdict for one in whole} >= {Verdict.TOO_LONG, Verdict.MARGINAL, Verdict.REACHES}
    for one, other in zip(whole, without, strict=True):
        assert other.window is None
        assert other.torque is None
        assert (one.verdict, one.why) == (other.verdict, other.why)
        assert (one.margin, one.sure) == (other.margin, other.sure)


def test_what_a_first_look_at_taut_lines_says_is_what_lines_at_rest_say() -> None:
    setup = bundled("old-twin")
    taut, rest = sweep(setup, settle=False, step=0.14), sweep(setup, step=0.14)
    for one, other in zip(taut.lines, rest.lines, strict=True):
        assert one.slack == pytest.approx(other.slack, abs=1e-6)
    needs, same = span_needs(taut), span_needs(rest)
    for name, spans in needs.items():
        for one, other in zip(spans, same[name], strict=True):
            assert one.least == pytest.approx(other.least, abs=0.01, nan_ok=True)
