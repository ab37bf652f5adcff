"""What points ride on, and how they are written."""

from __future__ import annotations

from enum import StrEnum

Vec = tuple[float, float, float]


class Body(StrEnum):
    """What a point rides on."""

    FRAME = "frame"
    STEERING = "steering"
    LOWER_FORK = "lower fork"


class Side(StrEnum):
    """The rider's left or right."""

    LEFT = "left"
    RIGHT = "right"
