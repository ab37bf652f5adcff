"""Clips that grip elsewhere along the line, or are left out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from barfit.catalogue import line_kinds
from barfit.model import Body, Hold, Line, Station
from barfit.remedies.judging import Plan, refused, solved
from barfit.remedies.lengths import aim, first_certain
from barfit.remedies.remedy import Change, Means, Remedy
from barfit.remedies.trials import STRAIGHT, Trials, with_lines, without_station

_SNUG = 2.0  # mm a stretch at rest keeps beyond what it needs
_SMALL = 0.5  # mm that a clip need not be slid


def slid(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Its clips slid along it so that every stretch that moves has as much to spare."""
    clipped = trials.found[line.name].clipped
    if clipped is None or math.isnan(clipped.total_short):
        return
    clips = [one for one in line.stations if one.hold is Hold.CLIP and one.at_length is not None]
    if not clips or len(clips) != len(clipped.spans) - 1:
        return  # of a line inside the bar one clip is the hole it comes out of
    first = clips[0].name
    if clipped.total_short > 0.0:
        why = "its stretches together need more than there is"
        yield refused(line.name, Means.MOVE_CLIP, trials.setup, why, first)
        return
    spare = np.array([span.spare for span in clipped.spans])
    moves = np.array([span.case.least > 0.0 for span in trials.swept.line(line.name).spans])
    # what is left too long between two clips at rest may bend too tightly there, so where it does
    # all of it goes to the stretches that move
    ways = (evened(spare, moves, wanted) for wanted in (aim(trials, line), math.inf))
    plans = [_slid(trials, line, clips, by) for by in ways if np.abs(by).max() >= _SMALL]
    found = first_certain(solved(trials, line.name, plan) for plan in plans)
    if found is not None:
        yield found


def _slid(trials: Trials, line: Line, clips: list[Station], by: np.ndarray) -> Plan:
    further = dict(zip((one.name for one in clips), by.tolist(), strict=True))
    stations = tuple(
        replace(one, at_length=(one.at_length or 0.0) + further[one.name])
        if one.name in further
        else one
        for one in line.stations
    )
    setup = with_lines(trials.setup, replace(line, stations=stations, found_slack=None))
    most = max(further, key=lambda name: abs(further[name]))
    return Plan(Means.MOVE_CLIP, setup, most, further[most], Change.SLIDE)


def left_out(trials: Trials, line: Line) -> Iterator[Remedy]:
    """Each of its clips left out."""
    for index, station in enumerate(line.stations):
        if station.hold is not Hold.CLIP:
            continue
        if line_kinds()[line.kind].family == "hose" and _on_fork(line):
            why = "a hose that moves with the fork keeps its clips"
            remedy = refused(line.name, Means.MOVE_CLIP, trials.setup, why, station.name)
            yield replace(remedy, change=Change.DROP)
            continue
        setup = without_station(trials.setup, line.name, index)
        if trials.hopeless(setup, line.name):
            remedy = refused(line.name, Means.MOVE_CLIP, trials.setup, STRAIGHT, station.name)
            yield replace(remedy, change=Change.DROP)
            continue
        spare = trials.spare(setup, (line.name,))[line.name]
        plan = Plan(Means.MOVE_CLIP, setup, station.name, change=Change.DROP)
        yield solved(trials, line.name, plan, spare)


def _on_fork(line: Line) -> bool:
    return any(getattr(one.place, "body", None) is Body.LOWER_FORK for one in line.stations)


def evened(spare: np.ndarray, moves: np.ndarray, wanted: float) -> np.ndarray:
    """How far each clip (S-1,), mm, is to grip further along a line whose stretches have ``spare``
    (S,) mm, so that those that move share alike what they have.

    Stretches at rest may be snug: they give what those that move lack of ``wanted`` mm each, as far
    as they can, and are given what they lack themselves. Whole mm.
    """
    if not moves.any():
        share = np.full_like(spare, spare.mean())
    else:
        rest = np.where(moves, 0.0, np.maximum(spare, 0.0))
        have = float(spare.sum() - rest.sum())  # what moves has, less what is short at rest
        count = int(moves.sum())
        loose = np.maximum(rest - _SNUG, 0.0)
        given = min(max(wanted * count - have, 0.0), float(loose.sum()))
        taken = loose * (given / loose.sum()) if given else 0.0
        share = np.where(moves, (have + given) / count, rest - taken)
    grown: np.ndarray = np.round(np.cumsum(share - spare)[:-1])
    return grown
