"""How a cable, hose or harness lies between its holds: an elastic rod at rest."""

from barfit.mechanics.settle import Shape, Span, settle
from barfit.mechanics.taut import taut

__all__ = ["Shape", "Span", "settle", "taut"]
