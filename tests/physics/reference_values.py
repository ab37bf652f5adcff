"""Published numbers for slender rods, each group with its source beside it in the data file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from barfit.bench.kirchhoff import Clamped

_TABLE: dict[str, Any] = json.loads(
    (Path(__file__).with_name("elastica_values.json")).read_text(encoding="utf-8")
)


def cases(group: str) -> list[dict[str, Any]]:
    """The cases of a group: name, inputs, expected (lengths scaled by L, forces by EI/L²)."""
    return list(_TABLE[group]["cases"])


def names(group: str) -> list[str]:
    """Test ids of a group."""
    return [case["name"] for case in cases(group)]


def plane_case(case: dict[str, Any], length: float, stiffness: float) -> tuple[Clamped, np.ndarray]:
    """A plane case as a span of that size, and a curve (201, 3) through its quarter points."""

    def direction(key: str) -> np.ndarray:
        angle = np.deg2rad(case["inputs"][key])
        return np.array([np.cos(angle), np.sin(angle), 0.0])

    end = length * np.array([*case["inputs"]["end"], 0.0])
    span = Clamped(
        np.zeros(3), direction("start_angle_deg"), end, direction("end_angle_deg"), stiffness
    )
    quarters = length * np.array(case["expected"]["quarter_points"])
    points = np.vstack([span.start, np.column_stack([quarters, np.zeros(3)]), span.end])
    ends = ((1, span.start_direction), (1, span.end_direction))
    curve = CubicSpline(np.linspace(0, length, 5), points, bc_type=ends)
    return span, np.asarray(curve(np.linspace(0, length, 201)))
