"""What a step was about: what undo and redo look at."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from barfit import edits, scenario
from barfit.edits.touched import Touched, touched
from barfit.model import Body

NAKED = scenario.load(Path("scenarios/naked-standard.toml"))
CABLE = "clutch cable"


def moved():
    return edits.move_station(NAKED, CABLE, 2, (0.0, 40.0, -80.0))


def guided():
    return edits.insert_guide(NAKED, CABLE, 2, (0.0, 40.0, -80.0), Body.FRAME)


STEPS = {
    "a station moved": (moved(), Touched(CABLE, 2), Touched(CABLE, 2)),
    "a guide put in": (guided(), Touched(CABLE, 3), Touched(CABLE, 0)),
    "a control slid": (
        edits.change_control(NAKED, "clutch perch", inboard=180.0),
        Touched(control="clutch perch"),
        Touched(control="clutch perch"),
    ),
    "an end at a control turned": (
        edits.lead_along(NAKED, CABLE, 0, (0.0, 0.0, 1.0)),
        Touched(CABLE, 0, control="clutch perch"),
        Touched(CABLE, 0, control="clutch perch"),
    ),
    "a line's length": (
        edits.change_line(NAKED, CABLE, length=1234.0),
        Touched(CABLE),
        Touched(CABLE),
    ),
    "a line taken out": (edits.delete_line(NAKED, CABLE), Touched(), Touched(CABLE)),
    "the new bars": (
        replace(NAKED, new=NAKED.stock),
        Touched(bars="new"),
        Touched(bars="new"),
    ),
    "the machine": (
        edits.change_machine(NAKED, rake=NAKED.machine.rake + 0.01),
        Touched(machine=True),
        Touched(machine=True),
    ),
    "a control renamed": (
        edits.rename_control(NAKED, "clutch perch", "clutch lever"),
        Touched(control="clutch lever"),
        Touched(control="clutch perch"),
    ),
}


@pytest.mark.parametrize("step", STEPS)
def test_a_step_is_told_from_its_two_ends(step):
    after, done, undone = STEPS[step]
    assert touched(NAKED, after) == done
    assert touched(after, NAKED) == undone


def test_nothing_is_told_where_nothing_changed():
    assert touched(NAKED, NAKED) == Touched()
