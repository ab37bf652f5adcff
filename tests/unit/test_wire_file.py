"""Wires out of a scenario file and into one."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from barfit import scenario
from barfit.catalogue import line_wires, scenario_dir, wire_table
from barfit.model import Circuit, Plug, Setup, Use, Wires
from barfit.scenario import ScenarioError, dumps, loads
from barfit.scenario.wires import CircuitTable, ConnectorTable, WiresTable

PAGE = (scenario_dir() / "FORMAT.md").read_text(encoding="utf-8")
HEAD = '\n[lines."left switch harness".wires]\n'
GIVEN = (
    HEAD
    + """# as found under the tape
screened = true
sleeve = "10 mm"
supply = 13.5
circuits = [
  { name = "lamp", gauge = "awg 18", current = 4.6, use = "lamp feed", count = 2 },
  { name = "horn", gauge = "1.0 mm2", use = "supply" },
  { name = "spare", use = "signal" },
]
connectors = [
  { name = "plug", width = 28, height = 17, poles = 9, hole = 30 },
  { name = "round plug", diameter = 18 },
]
"""
)


@pytest.fixture(scope="module")
def text(cruiser_path: Path) -> str:
    return cruiser_path.read_text(encoding="utf-8")


def of(setup: Setup) -> Wires | None:
    return setup.line("left switch harness").wires


def test_wires_are_read(text: str) -> None:
    assert of(loads(text)) is None
    assert of(loads(text + GIVEN)) == Wires(
        circuits=(
            Circuit("lamp", Use.LAMP, "AWG 18", 4.6, 2),
            Circuit("horn", Use.SUPPLY, "1 mm²"),
            Circuit("spare", Use.SIGNAL),
        ),
        connectors=(
            Plug("plug", width=28.0, height=17.0, poles=9, hole=30.0),
            Plug("round plug", diameter=18.0),
        ),
        screened=True,
        sleeve=10.0,
        supply=13.5,
    )


def test_wires_are_written_as_they_are_read(text: str) -> None:
    setup = loads(text + GIVEN)
    assert loads(dumps(replace(setup, source=""))).lines == setup.lines
    assert dumps(setup) == text + GIVEN


@pytest.mark.parametrize("beside", [True, False])
def test_a_changed_wire_keeps_what_stands_round_it(text: str, beside: bool) -> None:
    before, line, after = text.partition('[lines."right switch harness"]')
    assert line
    setup = loads(before + GIVEN.lstrip() + "\n" + line + after if beside else text + GIVEN)
    line = setup.line("left switch harness")
    assert line.wires is not None
    lamp, *others = line.wires.circuits
    wires = replace(line.wires, circuits=(replace(lamp, current=5.0), *others), sleeve=12.0)
    lines = tuple(replace(one, wires=wires) if one == line else one for one in setup.lines)
    written = dumps(replace(setup, lines=lines))
    assert "# as found under the tape" in written
    assert of(loads(written)) == wires
    without = tuple(replace(one, wires=None) if one == line else one for one in setup.lines)
    assert of(loads(dumps(replace(setup, lines=without)))) is None


@pytest.mark.parametrize("path", scenario.bundled(), ids=lambda path: path.stem)
def test_every_bundled_harness_says_what_it_holds(path: Path) -> None:
    setup = scenario.load(path)
    for line in setup.lines:
        assert (line.wires is not None) == ("harness" in line.kind or "lead" in line.kind)
    assert loads(dumps(replace(setup, source="", folder=str(path.parent)))).lines == setup.lines


def test_every_mistake_is_told_at_once(text: str) -> None:
    rows = (
        '{ name = "a", gauge = "0.6 mm²", use = "lamp" }',
        '{ name = "b", use = "signal", count = 2.5 }',
        '{ name = "c", use = "ground", current = 900 }',
        '{ name = "d", use = "ground" }, { name = "d", use = "ground" }',
        '{ name = "e", use = "lamp feed", current = "55 W" }',
    )
    wrong = HEAD + "screend = true\nsleeve = 500\n"
    wrong += f"circuits = [{', '.join(rows)}]\n"
    wrong += 'connectors = [{ name = "p", width = 20 }]\n'
    with pytest.raises(ScenarioError) as raised:
        loads(text + wrong)
    told = str(raised.value)
    for part in (
        "unknown key 'screend'",
        "500 mm is outside 1 mm to 80 mm",
        "'0.6 mm²' is not a gauge",
        "'lamp' is not one of the words",
        "2.5 is not a whole number",
        "900 is outside 0 to 60",
        "'55 W' is not a number; give amperes, as a plain number: watts over volts",
        "'d' is there twice",
        "needs its size across",
    ):
        assert part in told, part


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("circuits = []\n", "circuits: is missing"),
        ("circuits = 3\n", "3 is not a list of rows"),
        ("circuits = [4]\n", "4 is not a table of keys"),
        ('circuits = [{ name = "a", use = "ground", gauge = 18 }]\n', "18 is not a gauge"),
    ],
)
def test_a_list_that_is_none(text: str, wrong: str, told: str) -> None:
    with pytest.raises(ScenarioError) as raised:
        loads(text + HEAD + wrong)
    assert told in str(raised.value)


def test_only_harnesses_and_leads_hold_wires(text: str) -> None:
    given = GIVEN.replace("left switch harness", "clutch cable")
    with pytest.raises(ScenarioError) as raised:
        loads(text + given)
    assert "only a harness or a lead has wires" in str(raised.value)


def test_what_a_kind_usually_holds(cruiser: Setup) -> None:
    held = {line.kind: line_wires(line) for line in cruiser.lines}
    assert held["switch_harness"] is None
    assert held["heated_grip_lead"] == wire_table().kinds["heated_grip_lead"]


@pytest.mark.parametrize("table", [WiresTable, CircuitTable, ConnectorTable])
def test_every_key_is_explained(table: type) -> None:
    section = PAGE[PAGE.index('### `[lines."…".wires]`') : PAGE.index("### Through the bar")]
    missing = [key for key in table.model_fields if not re.search(rf"`{key}`", section)]  # type: ignore[attr-defined]
    assert not missing
    assert not [use for use in Use if f"`{use}`" not in section]
