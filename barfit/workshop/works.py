"""What is done about each line as work: the row of the table of tasks, and what must be reached."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from barfit.catalogue import line_kinds, line_wires
from barfit.model import Line, Setup, Station
from barfit.remedies import Change, Means, Remedy
from barfit.trade.cable_growth import PAIR
from barfit.trade.circuits import anti_lock_units, circuits
from barfit.workshop.accessories import swapped, through
from barfit.workshop.line_items import Replacement

Taken = Mapping[str, Remedy | None]


class Because(StrEnum):
    """Why a task is part of the job: what is done to the bars or to a line."""

    BARS = "changed"
    REPLACED = "replaced"
    EXTENDED = "extended"
    SPLICED = "spliced"
    REROUTED = "laid another way"
    CLIP = "held elsewhere"
    TURNED = "turned in its fitting"
    THROUGH = "led through the bars"
    SET = "helped by how bars and controls are set"
    UNSURE = "not surely long enough"


@dataclass(frozen=True)
class Reason:
    """Why a task is part of the job: what is done, and to which line ("" for the bars)."""

    because: Because
    name: str = ""


@dataclass(frozen=True)
class Work:
    """What is done about one line: its row in the table, and the stations that must be reached."""

    line: Line
    row: str
    because: Because
    stations: tuple[Station, ...]
    wires: int = 0

    @property
    def reason(self) -> Reason:
        """What is done, as the reason of other tasks."""
        return Reason(self.because, self.line.name)


def works(setup: Setup, taken: Taken, replaced: Sequence[Replacement]) -> Iterable[Work]:
    """What is done about each line, in the setup's order; ``replaced`` are those replaced whole."""
    whole = {one.line.name for one in replaced}
    for line in setup.lines:
        remedy = taken.get(line.name)
        now = line if remedy is None else remedy.setup.line(line.name)
        after = setup if remedy is None else remedy.setup
        inside = through(after, now) and (
            swapped(setup.stock, setup.new) or not through(setup, line)
        )
        if inside:
            yield Work(line, "wires_through", Because.THROUGH, now.stations)
        if line.name in whole:
            yield Work(line, _row_of(setup, line), Because.REPLACED, line.stations)
        elif remedy is not None and (one := _kept(line, remedy)) is not None:
            yield one


def _kept(line: Line, remedy: Remedy) -> Work | None:
    """What is done about a line that is not replaced."""
    plug = (line.stations[-1],)
    family = line_kinds()[line.kind].family
    held = tuple(one for one in line.stations if one.name == remedy.at) or line.stations
    match remedy.means:
        case Means.EXTENSION:
            row = "extend_harness" if family == "harness" else "extend_lead"
            return Work(line, row, Because.EXTENDED, plug)
        case Means.SPLICE:
            return Work(line, "splice", Because.SPLICED, plug, _wires(line, remedy))
        case Means.REROUTE:
            return Work(line, "reroute", Because.REROUTED, line.stations)
        case Means.MOVE_CLIP:
            return Work(line, "reroute", Because.CLIP, held)
        case Means.TURN_FITTING if remedy.change is Change.EYE:
            return Work(line, "turn_fitting", Because.TURNED, held)
    return None  # left alone, or done as the bars are set


def _wires(line: Line, remedy: Remedy) -> int:
    """How many wires are spliced: those of the plan, or all that the line is known to hold."""
    if remedy.splice is not None and remedy.splice.splices:
        return len(remedy.splice.splices)
    held = line_wires(line)
    return sum(one.count for one in held.circuits) if held else 0


def _row_of(setup: Setup, line: Line) -> str:
    """The row of changing a line of its kind."""
    if line.kind in PAIR or line.kind == "throttle_single":
        return "throttle_cable"
    rows = {
        "choke_cable": "choke_cable",
        "clutch_cable": "clutch_cable",
        "front_brake_cable": "brake_cable",
        "clutch_hose": "clutch_hose",
    }
    if line.kind in rows:
        return rows[line.kind]
    family = line_kinds()[line.kind].family
    if family == "hose":
        return "modulator_hose" if _unit_of(setup, line) else "brake_hose"
    return {"harness": "longer_branch", "lead": "longer_lead"}.get(family, "other_cable")


def _unit_of(setup: Setup, line: Line) -> str:
    """The anti-lock unit that a hose is fitted to, "" where it is to none."""
    for circuit in circuits(setup):
        units = anti_lock_units(setup, circuit)
        for end in circuit.ends:
            if end.line == line.name and end.part in units:
                return end.part
    return ""
