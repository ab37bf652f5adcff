"""From a setup to verdicts: the sweep from lock to lock and what it means for each line."""

from barfit.analysis.findings import LineFinding, Verdict, findings
from barfit.analysis.problems import doubts, problems
from barfit.analysis.sweep import LineSweep, Sweep, sweep
from barfit.analysis.torque import LineTorque
from barfit.analysis.twist import Twist
from barfit.analysis.uncertainty import Cause, OddSlack, Sureness, corrected
from barfit.analysis.work import Cancelled

__all__ = [
    "Cancelled",
    "Cause",
    "LineFinding",
    "LineSweep",
    "LineTorque",
    "OddSlack",
    "Sureness",
    "Sweep",
    "Twist",
    "Verdict",
    "corrected",
    "doubts",
    "findings",
    "problems",
    "sweep",
]
