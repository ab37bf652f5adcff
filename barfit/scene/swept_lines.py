"""The lines of one sweep, drawn at any pose within it, and what is to be written beside them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np

from barfit.analysis.findings import LineFinding, Verdict
from barfit.analysis.sweep import Sweep
from barfit.geometry.pose import Layout
from barfit.scene.lines import LineActor, LineLook
from barfit.scene.marks import Mark, contacts, elsewhere, mark
from barfit.scene.pick import in_picture, nearest_line
from barfit.scene.track import LinePose, Track


class SweptLines:
    """The lines of a sweep on a plotter: an actor and a table of poses for each."""

    def __init__(self, plotter: Any) -> None:
        self._plotter = plotter
        self.sweep: Sweep | None = None
        self._findings: dict[str, LineFinding] = {}
        self.tracks: dict[str, Track] = {}
        self.actors: dict[str, LineActor] = {}

    def drop(self) -> None:
        """Know of no sweep any more. The actors stay, to be used again."""
        self.sweep = None
        self._findings, self.tracks = {}, {}

    def replace(
        self, sweep: Sweep, findings: Iterable[LineFinding], layouts: dict[str, Layout]
    ) -> None:
        """Take the lines, as they are laid out, from this sweep."""
        self.tracks = {line.name: Track(line, sweep.angles) for line in sweep.lines}
        self._take(sweep, findings, layouts)

    def change(self, glance: Sweep, layouts: dict[str, Layout]) -> None:
        """Take the lines from this sweep of one pose: only those that changed are looked at."""
        # a line that was not solved again has the very shapes it had
        before = {id(track.line.shapes): track for track in self.tracks.values()}
        self.tracks = {
            line.name: before.get(id(line.shapes)) or Track(line, glance.angles)
            for line in glance.lines
        }
        self._take(glance, (), layouts)

    def _take(
        self, sweep: Sweep, findings: Iterable[LineFinding], layouts: dict[str, Layout]
    ) -> None:
        self.sweep = sweep
        self._findings = {finding.line: finding for finding in findings}
        self._make_actors(sweep, layouts)

    def _make_actors(self, sweep: Sweep, layouts: dict[str, Layout]) -> None:
        """One actor per line for as long as there is that line with as many points."""
        rings = {line.name: len(line.arc) for line in sweep.lines}
        for name, actor in list(self.actors.items()):
            if rings.get(name) != actor.rings:
                self.actors.pop(name).remove()
        for line in sweep.lines:
            if line.name not in self.actors:
                self.actors[line.name] = LineActor(self._plotter, line.name, rings[line.name])
            allowed = self._allowed_radius(sweep, line.name)
            radius = 0.5 * sweep.setup.line(line.name).diameter
            self.actors[line.name].measure(radius, line.arc, layouts[line.name], allowed)

    def _allowed_radius(self, sweep: Sweep, name: str) -> float:
        """The least bend radius of a line, mm; nan when neither finding nor line gives it."""
        if name in self._findings:
            return self._findings[name].allowed_radius
        spans = sweep.line(name).spans
        return spans[0].case.min_radius if spans else sweep.setup.line(name).min_radius or math.nan

    def at(self, name: str, turn: float, travel: float) -> LinePose | None:
        """A line at a pose (rad, mm); None where the sweep does not have it."""
        track = self.tracks.get(name)
        return None if track is None else track.at(turn, travel)

    def runs(self, turn: float, travel: float, known: bool = False) -> dict[str, np.ndarray]:
        """The ways (S, 3) the lines drawn at a pose run through their stations there; with
        ``known`` only of those that are known.
        """
        poses = {name: track.at(turn, travel) for name, track in self.tracks.items()}
        return {
            name: pose.along(self.tracks[name].line.arc)
            for name, pose in poses.items()
            if pose is not None and (pose.known or not known)
        }

    def draw(self, turn: float, travel: float, look: LineLook, unit: str) -> tuple[Mark, ...]:
        """Show all lines at a pose; gives what is to be written beside them there."""
        marks = []
        for name, line in self.actors.items():
            pose = self.at(name, turn, travel)
            if pose is None:
                line.hide()
                continue
            note = mark(name, pose, line.arc, self._findings.get(name), unit)
            line.show(pose, look, in_trouble=note is not None)
            touching = self._contacts(name, pose, turn, travel) if name == look.selected else []
            if note is None and name == look.selected:
                note = self._elsewhere(name, pose, touching, unit)
            if note is not None and look.selected in (None, name):
                marks.append(note)
            marks += touching
        return tuple(marks)

    def _contacts(self, name: str, pose: LinePose, turn: float, travel: float) -> list[Mark]:
        """What a line touches and is pinched by at the pose of the sweep nearest to this one."""
        assert self.sweep is not None
        angles, swept = self.sweep.angles, self.sweep.line(name)
        row = int(np.abs(swept.travels - travel).argmin())
        cell = row, int(np.abs(angles - turn).argmin())
        return contacts(name, pose, swept, self._findings.get(name), cell, angles)

    def _elsewhere(self, name: str, pose: LinePose, touching: list[Mark], unit: str) -> Mark | None:
        finding = self._findings.get(name)
        if finding is None or finding.fits:
            return None
        if touching and finding.verdict in (Verdict.PINCHED, Verdict.RUBS):
            return None  # it is said where it touches here
        return elsewhere(name, pose, self.actors[name].arc, finding, unit)

    def slacks(self, turn: float, travel: float) -> dict[str, float]:
        """What each line has to spare at a pose, mm; nan where that is not known."""
        return self._of_known(turn, travel, lambda pose: pose.slack)

    def radii(self, turn: float, travel: float) -> dict[str, float]:
        """How tightly each line is bent at a pose, mm; nan where that is not known."""
        return self._of_known(turn, travel, lambda pose: pose.radius)

    def _of_known(
        self, turn: float, travel: float, told: Callable[[LinePose], float]
    ) -> dict[str, float]:
        poses = {name: track.at(turn, travel) for name, track in self.tracks.items()}
        return {
            name: told(pose) if pose is not None and pose.known else math.nan
            for name, pose in poses.items()
        }

    def all_poses(self, name: str) -> np.ndarray:
        """Points (M, 3) of a line in all the poses of its sweep; none for one that is not in it."""
        if name not in self.tracks:
            return np.empty((0, 3))
        points = self.tracks[name].line.shapes.reshape(-1, 3)
        return points[np.isfinite(points).all(axis=1)]

    def pick(self, spot: tuple[float, float], reach: float) -> str | None:
        """The line within ``reach`` pixels of a place in the picture, from its lower left."""
        lines = {name: line.points for name, line in self.actors.items()}
        return nearest_line(self._plotter.renderer, lines, spot, reach)

    def along(self, name: str, spot: tuple[float, float]) -> tuple[float, np.ndarray]:
        """Where a line drawn now passes nearest to a place in the picture: mm along it, and the
        point (3,). Raises KeyError.
        """
        line = self.actors[name]
        flat, ahead = in_picture(self._plotter.renderer, line.points)
        away = np.where(ahead, np.hypot(*(flat - np.array(spot)).T), np.inf)
        best = int(away.argmin())
        return float(line.arc[best]), line.points[best].copy()
