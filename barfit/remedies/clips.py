"""Clips that grip elsewhere along the line, or are left out."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from barfit import edits
from barfit.catalogue import line_kinds
from barfit.model import Body, Hold, Line
from barfit.remedies.remedy import Change, Means, Remedy
from barfit.remedies.trials import Plan, Trials, refused, solved, with_lines

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
    by = _evened(
        np.array([span.spare for span in clipped.spans]),
        np.array([span.case.least > 0.0 for span in trials.swept.line(line.name).spans]),
    )
    if np.abs(by).max() < _SMALL:
        return
    further = dict(zip((one.name for one in clips), by.tolist(), strict=True))
    stations = tuple(
        replace(one, at_length=(one.at_length or 0.0) + further[one.name])
        if one.name in further
        else one
        for one in line.stations
    )
    setup = with_lines(trials.setup, replace(line, stations=stations, found_slack=None))
    most = max(further, key=lambda name: abs(further[name]))
    yield solved(trials, line.name, Plan(Means.MOVE_CLIP, setup, most, further[most], Change.SLIDE))


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
        setup = edits.delete_station(trials.setup, line.name, index)
        setup = edits.change_line(setup, line.name, found_slack=None)
        spare = trials.spare(setup, (line.name,))[line.name]
        plan = Plan(Means.MOVE_CLIP, setup, station.name, change=Change.DROP)
        yield solved(trials, line.name, plan, spare)


def _on_fork(line: Line) -> bool:
    return any(getattr(one.place, "body", None) is Body.LOWER_FORK for one in line.stations)


def _evened(spare: np.ndarray, moves: np.ndarray) -> np.ndarray:
    """How far each clip (S-1,) is to grip further along a line whose stretches have ``spare`` (S,)
    mm: those that move then share what they have; one at rest gives what it can spare where they
    still lack some, and takes what it lacks.
    """
    wanted = np.where(moves, 0.0, np.maximum(spare, 0.0))
    if not moves.any():
        wanted = np.full_like(spare, spare.mean())
    else:
        still = float(spare.sum() - wanted.sum())
        if still < 0.0:  # only by what lies at rest
            wanted *= 1.0 + still / wanted.sum()
            still = 0.0
        wanted = np.where(moves, still / moves.sum(), wanted)
    grown = np.round(np.cumsum(wanted - spare)[:-1])
    found: np.ndarray = grown
    return found
