"""The inside of control cables in scenario files, and what is usual where they say nothing."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from barfit import scenario
from barfit.catalogue import line_kinds, scenario_dir
from barfit.model import Cable, Line, Lining, Setup
from barfit.scenario import ScenarioError, dumps, loads
from barfit.trade import cable_data
from barfit.trade.cable_data import inside, preferred_radius

TWIN = scenario.load(scenario_dir() / "old-twin.toml")
TEXT = (scenario_dir() / "old-twin.toml").read_text(encoding="utf-8")


def named(setup: Setup, name: str) -> Line:
    return next(line for line in setup.lines if line.name == name)


def with_cable(name: str, cable: Cable | None) -> Setup:
    lines = tuple(replace(line, cable=cable) if line.name == name else line for line in TWIN.lines)
    return replace(TWIN, lines=lines)


def told(text: str) -> str:
    with pytest.raises(ScenarioError) as error:
        loads(text)
    return str(error.value)


@pytest.mark.parametrize(
    "cable",
    [
        Cable(wire=1.6),
        Cable(wire=2.0, bore=3.0, lining=Lining.DRY, free_play=0.0, pull=187.5),
        Cable(free_play=25.4 / 8, lining=Lining.PTFE),
        None,
    ],
)
@pytest.mark.parametrize("source", [True, False], ids=["into its text", "afresh"])
def test_it_is_written_and_read_back(cable: Cable | None, source: bool) -> None:
    setup = with_cable("clutch cable", cable)
    if not source:
        setup = replace(setup, source="")
    text = dumps(setup)
    assert named(loads(text), "clutch cable").cable == cable
    assert replace(loads(text), source="") == replace(setup, source="")


def test_comments_survive_a_change() -> None:
    text = TEXT.replace(
        '[lines."clutch cable".cable]\n', '[lines."clutch cable".cable]\n# new one\n'
    )
    setup = loads(text)
    cable = named(setup, "clutch cable").cable
    assert cable is not None
    lines = tuple(
        replace(line, cable=replace(cable, free_play=2.5)) if line.cable is cable else line
        for line in setup.lines
    )
    again = dumps(replace(setup, lines=lines))
    assert "# new one\n" in again
    assert len(again.splitlines()) == len(text.splitlines())
    assert named(loads(again), "clutch cable").cable == replace(cable, free_play=2.5)


def test_the_example_of_the_page_can_be_read() -> None:
    page = (scenario_dir() / "FORMAT.md").read_text(encoding="utf-8")
    example = re.search(r'(\[lines\."clutch cable"\.cable\].*?)```', page, re.DOTALL)
    assert example is not None
    text = re.sub(r'\[lines\."clutch cable"\.cable\][^\[]*', example[1] + "\n", TEXT, count=1)
    assert named(loads(text), "clutch cable").cable == Cable(2.5, 3.2, Lining.NYLON, 3.0, 250.0)
    assert not [word for word in Lining if f'"{word}"' not in page]


def test_every_mistake_is_told_at_once_with_its_place() -> None:
    text = TEXT.replace(
        '[lines."clutch cable".cable]\nwire = 2.3\nbore = 3.1\nfree_play = 3\n'
        'lining = "unlined and oiled"\npull = 220\n',
        '[lines."clutch cable".cable]\nwire = 23\nbor = 3.1\nlining = "PTFE"\npull = 0\n',
    )
    assert text != TEXT
    message = told(text)
    for part in (
        'lines."clutch cable".cable.wire: 23 mm is outside 0.3 mm to 8 mm',
        "unknown key 'bor'; did you mean 'bore'?",
        "'PTFE' is not one of the words known here; known: PTFE-lined, nylon-lined",
        "cable.pull: 0 N is outside 0.1 N to 5000 N",
    ):
        assert part in message


def test_a_wire_that_fills_its_bore_does_not_slide() -> None:
    text = TEXT.replace("wire = 2.3\nbore = 3.1", "wire = 3.1\nbore = 3.1")
    assert "a wire of 3.1 mm does not slide in a bore of 3.1 mm" in told(text)


def test_another_mistake_does_not_hide_it() -> None:
    text = TEXT.replace(
        "wire = 2.3\nbore = 3.1\nfree_play = 3\n", "wire = 3.1\nbore = 3.1\nfree_ply = 3\n"
    )
    text = text.replace("pull = 220", 'pull = "250 kg"')
    message = told(text)
    assert "a wire of 3.1 mm does not slide in a bore of 3.1 mm" in message
    assert "unknown key 'free_ply'" in message
    assert "cable.pull: '250 kg' is not a number; give newtons, as a plain number" in message


def test_what_is_no_sliding_cable_has_no_wire() -> None:
    for name, why in (
        ("left switch harness", "a switch harness is no control cable"),
        ("speedometer cable", "its core turns, no wire slides in it"),
    ):
        assert why in told(f'{TEXT}\n[lines."{name}".cable]\nwire = 1.5\n')
    plain = dumps(replace(with_cable("choke cable", None), source=""))
    assert "is not a table of keys" in told(
        plain.replace("length = 675", "length = 675\ncable = 3")
    )


def test_the_table_knows_every_control_cable_and_lining_and_where_it_has_them_from() -> None:
    tables = cable_data._tables()
    cables = {name for name, kind in line_kinds().items() if kind.family == "cable"}
    assert set(tables["kinds"]) == cables
    assert set(tables["linings"]) == {str(lining) for lining in Lining}
    rows = (*tables["kinds"].values(), *tables["linings"].values(), tables["wire"])
    assert all(row["source"] for row in rows)
    for row in tables["linings"].values():
        assert 0.0 < row["least"] < row["usual"] < row["most"] < 1.0
    for name, row in tables["kinds"].items():
        assert row["preferred_radius"] > line_kinds()[name].min_radius
        if "wire" in row:
            assert row["wire"] < row["bore"] < line_kinds()[name].outside_diameter
            assert row["least_play"] <= row["free_play"] <= row["most_play"]


def test_what_is_left_out_is_usual_for_the_kind() -> None:
    plain = inside(replace(named(TWIN, "clutch cable"), cable=None))
    assert plain is not None
    assert (plain.wire, plain.bore, plain.pull, plain.pull_given) == (2.5, 3.2, 250.0, False)
    assert plain.clearance == pytest.approx(0.7)
    # 19 wires a fifth as thick as their strand fill 19/25 of it
    assert plain.area == pytest.approx(19 * 0.25 * 3.14159265 * 0.5**2)
    thin = inside(named(with_cable("clutch cable", Cable(wire=2.0, pull=200.0)), "clutch cable"))
    assert thin is not None
    assert thin.bore == pytest.approx(2.7)
    assert thin.pull_given
    tight = inside(named(with_cable("clutch cable", Cable(bore=1.0)), "clutch cable"))
    assert tight is not None
    assert 0.0 < tight.wire < tight.bore
    assert inside(named(TWIN, "speedometer cable")) is None
    assert preferred_radius(named(TWIN, "speedometer cable")) == 150.0
