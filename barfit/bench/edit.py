"""One pose after a small edit: what the window must do before the picture can follow the hand."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from barfit.analysis import sweep
from barfit.analysis.glance import again, from_sweep
from barfit.analysis.spans import BodyMotions, SpanCase, batch, body_motions, held, span_cases
from barfit.analysis.tables import PULL, STIFF
from barfit.bench.speed import LINES, bundled_setup, twelve_lines
from barfit.bench.timing import Timing, timed
from barfit.mechanics.newton import newton
from barfit.mechanics.rod import Rods, State
from barfit.mechanics.start import pulled, settled
from barfit.mechanics.track import carried
from barfit.model import Bar, PointPlace, Setup

TARGET = 10e-3  # s
GLANCE_TARGET = 50e-3  # s
_TURNS, _TRAVEL = np.array([0.3]), np.zeros(1)  # rad and mm, some pose or other
_MOVED = 1.0  # mm


@dataclass(frozen=True)
class _Group:
    """The spans of one node count, numbered, as they stand: settled and drawn taut."""

    members: list[int]
    rods: Rods
    lying: State
    drawn: State


def small_edit(repeats: int) -> list[Timing]:
    """Move one station of one of twelve lines by 1 mm; settle and draw taut all twelve again."""
    found = []
    for contact, words in ((False, "nothing in the way"), (True, "with contact")):
        setup = twelve_lines(bundled_setup())
        groups = _standing(setup, span_cases(setup, True, contact))
        edited = _edited(setup)
        run = partial(_again, edited, groups, contact)
        # an answer that did not converge is no answer, so there is no time for one either
        seconds = timed(run, repeats) if all(run()) else float("nan")
        what = f"one pose of {LINES} lines after a small edit, {words}"
        found.append(Timing(what, seconds, TARGET))
    return found


def glances(repeats: int) -> list[Timing]:
    """All twelve lines with their numbers and shapes, with contact: after one station has moved,
    after the bar has been changed so that every line has, and one degree further round.
    """
    setup = twelve_lines(bundled_setup())
    turn, travel = float(_TURNS[0]), float(_TRAVEL[0])
    before = from_sweep(sweep(setup, stock=True), turn, travel)
    bar = setup.stock.bar
    assert isinstance(bar, Bar)
    higher = replace(setup, stock=replace(setup.stock, bar=replace(bar, rise=bar.rise + _MOVED)))
    found = []
    for words, edited, at in (
        ("a station moved", _edited(setup), turn),
        ("the bar changed", higher, turn),
        ("a degree further", setup, turn + math.radians(1.0)),
    ):
        run = partial(again, before, edited, at, travel)
        good = all(line.converged.all() for line in run().sweep.lines)
        seconds = timed(run, repeats) if good else float("nan")
        found.append(Timing(f"glance at {LINES} lines, {words}", seconds, GLANCE_TARGET))
    return found


def _edited(setup: Setup) -> Setup:
    """The setup with the first station of its lines that is a point of the machine moved."""
    for number, line in enumerate(setup.lines):
        for place, station in enumerate(line.stations):
            if isinstance(station.place, PointPlace):
                x, y, z = station.place.position
                moved = replace(station.place, position=(x, y + _MOVED, z))
                stations = list(line.stations)
                stations[place] = replace(station, place=moved)
                lines = list(setup.lines)
                lines[number] = replace(line, stations=tuple(stations))
                return replace(setup, lines=tuple(lines))
    raise ValueError("no line of the setup has a station on the machine")


def _standing(setup: Setup, cases: list[SpanCase]) -> list[_Group]:
    """All spans from nothing at the pose, in batches of one node count."""
    groups = []
    moved = body_motions(setup, _TURNS, _TRAVEL)
    for nodes in sorted({case.nodes for case in cases}):
        members = [number for number, case in enumerate(cases) if case.nodes == nodes]
        rods = _rods(setup, [cases[number] for number in members], moved)
        lying, _ = settled(rods, np.array([cases[number].length for number in members]), nodes)
        drawn, _ = pulled(_stiff(rods), np.full(rods.size, PULL), nodes)
        groups.append(_Group(members, rods, lying, drawn))
    return groups


def _again(setup: Setup, groups: list[_Group], contact: bool) -> list[bool]:
    """Settle and draw taut all spans of an edited setup from how they stood; which converged."""
    cases = span_cases(setup, True, contact)
    moved = body_motions(setup, _TURNS, _TRAVEL)
    good = []
    for group in groups:
        mine = [cases[number] for number in group.members]
        here = _rods(setup, mine, moved)
        lying = carried(group.rods, here, group.lying)
        lying.edge = np.array([case.length for case in mine]) / (mine[0].nodes - 1)
        good += list(newton(here, lying).converged)
        stiff = _stiff(here)
        drawn = carried(group.rods, here, group.drawn)
        good += list(newton(stiff, drawn, np.full(here.size, PULL)).converged)
    return good


def _rods(setup: Setup, cases: list[SpanCase], moved: BodyMotions) -> Rods:
    """The spans as rods held as at the pose, where the bodies have moved as ``moved`` says."""
    holds = [held(setup, case, _TURNS, _TRAVEL, moved) for case in cases]
    return batch(cases, holds)[0]


def _stiff(rods: Rods) -> Rods:
    return replace(rods, ea=np.full(rods.size, STIFF))
