"""The open setup and everything known about it, without a window."""

from barfit.session.event import Event
from barfit.session.pose import Pose, PoseNumbers, at_pose, travel_row
from barfit.session.result import BADNESS, Result
from barfit.session.session import Session, line_names

__all__ = [
    "BADNESS",
    "Event",
    "Pose",
    "PoseNumbers",
    "Result",
    "Session",
    "at_pose",
    "line_names",
    "travel_row",
]
