"""Findings for other programs: plain values that go into JSON (fields: ``scenarios/FORMAT.md``)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.report.sentences import sentence, snap_sentence
from barfit.report.sureness import sure_values
from barfit.report.torque import torque_values, total_values
from barfit.report.twist import twist_sentence, twist_values

RESULT_FORMAT = 1


def results(setup: Setup, checked: Iterable[tuple[bool, Sequence[LineFinding]]]) -> dict[str, Any]:
    """What was found with each set of bars, given as (stock, findings).

    Lengths mm, angles degrees, torques N·m; what is not known is None.
    """
    return {
        "result_format": RESULT_FORMAT,
        "title": setup.title,
        "machine": setup.machine.name,
        "bars": [_bars(setup, stock, findings) for stock, findings in checked],
    }


def _bars(setup: Setup, stock: bool, findings: Sequence[LineFinding]) -> dict[str, Any]:
    return {
        "bars": "stock" if stock else "new",
        "bar": setup.bars(stock).bar.name,
        "riser": setup.bars(stock).riser.name,
        "fits": all(finding.fits for finding in findings),
        **total_values(findings),
        "lines": [_line(setup, finding) for finding in findings],
    }


def _line(setup: Setup, finding: LineFinding) -> dict[str, Any]:
    line = setup.line(finding.line)
    return {
        "line": line.name,
        "kind": line.kind,
        "verdict": str(finding.verdict),
        "fits": finding.fits,
        "sentence": sentence(finding, line, setup.unit, setup.machine),
        "may_flip": snap_sentence(finding, line) or None,
        "installed": _known(finding.installed),
        "needed": _known(finding.needed),
        "margin": _known(finding.margin),
        "taut_length": _known(finding.taut_length),
        "bend_length": _known(finding.bend_length),
        "slack": _known(finding.slack),
        "excess": _known(finding.excess),
        "least_slack": _known(finding.least),
        "target_slack": _known(finding.target),
        "max_excess": _known(finding.max_excess),
        "worst_turn": _degrees(finding.worst_turn),
        "worst_travel": _known(finding.worst_travel),
        "tight_right": _degrees(finding.tight_right),
        "tight_left": _degrees(finding.tight_left),
        "min_radius": _known(finding.min_radius),
        "radius_turn": _degrees(finding.radius_turn),
        "allowed_radius": _known(finding.allowed_radius),
        "flips_at": [_degrees(angle) for angle in finding.snaps],
        "why": finding.why or None,
        **sure_values(finding),
        "torque": torque_values(finding.torque),
        "twist": twist_values(finding.twist),
        "twisted": twist_sentence(finding) or None,
    }


def _known(value: float) -> float | None:
    """A number rounded to what it is good for, or None; JSON has neither nan nor inf."""
    return round(value, 2) if math.isfinite(value) else None


def _degrees(angle: float | None) -> float | None:
    return None if angle is None else _known(math.degrees(angle))
