"""Findings for other programs: plain values that go into JSON (fields: ``scenarios/FORMAT.md``)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from barfit.analysis import LineFinding
from barfit.analysis.clips import Clipped
from barfit.analysis.stops import SteeringStop, Stop, steering_stops
from barfit.analysis.window import Window
from barfit.model import Setup
from barfit.report.doubts import doubt_sentences
from barfit.report.plain import degrees, known
from barfit.report.remarks import Remark, rejected, remark_values
from barfit.report.sentences import (
    clip_sentence,
    sentence,
    snap_sentence,
    stays_sentence,
    stops_sentence,
    window_sentence,
)
from barfit.report.sureness import order_sentence, sure_values
from barfit.report.torque import torque_values, total_values
from barfit.report.touching import pinch_sentence, rub_sentence, touch_values
from barfit.report.twist import twist_sentence, twist_values

RESULT_FORMAT = 2


@dataclass(frozen=True)
class Checked:
    """What was found with one set of bars."""

    stock: bool
    findings: Sequence[LineFinding]
    remarks: Sequence[Remark]

    @property
    def fits(self) -> bool:
        """Whether every line fits and nothing rejects the bars."""
        return all(finding.fits for finding in self.findings) and not rejected(self.remarks)


def results(setup: Setup, checked: Iterable[Checked]) -> dict[str, Any]:
    """What was found with each set of bars.

    Lengths mm, angles degrees, torques N·m; what is not known is None.
    """
    return {
        "result_format": RESULT_FORMAT,
        "title": setup.title,
        "machine": setup.machine.name,
        "bars": [_bars(setup, one) for one in checked],
    }


def _bars(setup: Setup, checked: Checked) -> dict[str, Any]:
    stock, findings = checked.stock, checked.findings
    stops = steering_stops(findings, setup.lines)
    return {
        "bars": "stock" if stock else "new",
        "bar": setup.bars(stock).bar.name,
        "riser": setup.bars(stock).riser.name,
        "doubts": doubt_sentences(setup, stock),
        "fits": checked.fits,
        **total_values(findings),
        "steering_stops": {"right": _stopped(stops.right), "left": _stopped(stops.left)},
        "steering_stopped": stops_sentence(stops, setup.machine) or None,
        "lines": [_line(setup, finding) for finding in findings],
        "remarks": [remark_values(remark, setup) for remark in checked.remarks],
    }


def _line(setup: Setup, finding: LineFinding) -> dict[str, Any]:
    line = setup.line(finding.line)
    return {
        "line": line.name,
        "kind": line.kind,
        "verdict": str(finding.verdict),
        "fits": finding.fits,
        "sentence": sentence(finding, line, setup.unit, setup.machine),
        "order_doubt": order_sentence(finding, line, setup.unit) or None,
        "may_stay": stays_sentence(finding, line, setup.unit) or None,
        "may_snap": snap_sentence(finding, line, setup.machine) or None,
        "no_window": window_sentence(finding, line, setup.unit) or None,
        "clip_advice": clip_sentence(finding, line, setup.unit) or None,
        "installed": known(finding.installed),
        "needed": known(finding.needed),
        "margin": known(finding.margin),
        "taut_length": known(finding.taut_length),
        "bend_length": known(finding.bend_length),
        "slack": known(finding.slack),
        "excess": known(finding.excess),
        "least_slack": known(finding.least),
        "target_slack": known(finding.target),
        "max_excess": known(finding.max_excess),
        "worst_turn": degrees(finding.worst_turn),
        "worst_travel": known(finding.worst_travel),
        "tight_right": _tight(finding.stops.right),
        "tight_left": _tight(finding.stops.left),
        "min_radius": known(finding.min_radius),
        "radius_turn": degrees(finding.radius_turn),
        "allowed_radius": known(finding.allowed_radius),
        "window": None if finding.window is None else _window(finding.window),
        "snaps": [
            {
                "from": degrees(snap.start),
                "to": degrees(snap.end),
                "travel": known(snap.travel),
            }
            for snap in finding.snaps
        ],
        "clips": None if finding.clipped is None else _clips(finding.clipped),
        "deciding_poses": [
            {
                "decides": str(pose.decides),
                "between": list(pose.between),
                "turn": degrees(pose.turn),
                "travel": known(pose.travel),
                "length": known(pose.length),
                "stiffness": _number(pose.stiffness),
                "stable": pose.stable,
            }
            for pose in finding.deciding
        ],
        "why": finding.why or None,
        **sure_values(finding),
        "torque": torque_values(finding.torque),
        "twist": twist_values(finding.twist),
        **touch_values(finding),
        "pinched": pinch_sentence(finding, line, setup.unit, setup.machine) or None,
        "rubs": rub_sentence(finding, line, setup.unit, setup.machine) or None,
        "twisted": twist_sentence(finding) or None,
    }


def _tight(stop: Stop | None) -> dict[str, Any] | None:
    if stop is None:
        return None
    return {"turn": degrees(stop.turn), "travel": known(stop.travel)}


def _stopped(stop: SteeringStop | None) -> dict[str, Any] | None:
    if stop is None:
        return None
    return {"line": stop.line, "turn": degrees(stop.turn), "travel": known(stop.travel)}


def _window(window: Window) -> dict[str, Any]:
    blame = window.blame
    return {
        "needed": known(window.needed),
        "longest": known(window.longest),
        "empty": window.empty,
        "limit": str(window.limit) or None,
        "turn": degrees(window.turn),
        "travel": known(window.travel),
        "between": list(window.between),
        "max_bow": known(window.max_bow),
        "touch_judged": window.touch_judged,
        "part": window.part or None,
        "blame": None
        if blame is None
        else {
            "station": blame.station,
            "hold": str(blame.hold),
            "best_radius": known(blame.radius),
            "turn": degrees(blame.turn),
            "travel": known(blame.travel),
        },
    }


def _clips(clipped: Clipped) -> dict[str, Any]:
    return {
        "spans": [
            {
                "between": list(span.between),
                "length": known(span.length),
                "needed": known(span.needed),
                "spare": known(span.spare),
            }
            for span in clipped.spans
        ],
        "slides": [
            {"clip": slide.clip, "by": known(slide.by), "towards": slide.towards}
            for slide in clipped.slides
        ],
        "total_short": known(clipped.total_short),
    }


def _number(value: float) -> float | None:
    """A number to three significant digits, or None."""
    return float(f"{value:.3g}") if math.isfinite(value) else None
