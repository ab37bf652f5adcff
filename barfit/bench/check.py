"""One comparison of the solver with something outside it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Rule(StrEnum):
    """How a number is held against what is expected."""

    WITHIN = "within"  # of the expected value, as a share of it
    NEAR = "near"  # the expected value, in its own unit
    AT_LEAST = "at least"  # the expected value, short of it by no more than a share
    AT_MOST = "at most"  # the expected value: the tolerance itself is what is expected


@dataclass(frozen=True)
class Check:
    """A case, what is compared in it, where the expected value comes from, and both values.

    ``tolerance`` is a share of the expected value for WITHIN and AT_LEAST, in the quantity's unit
    for NEAR, and unused for AT_MOST.
    """

    case: str
    quantity: str
    source: str
    expected: float
    got: float
    tolerance: float = 0.0
    rule: Rule = Rule.WITHIN

    @property
    def error(self) -> float:
        """Got minus expected: a share of it, or for NEAR and AT_MOST in the quantity's unit."""
        gap = self.got - self.expected
        if self.rule in (Rule.NEAR, Rule.AT_MOST):
            return gap
        return gap / abs(self.expected)

    @property
    def passed(self) -> bool:
        """Whether the error is allowed; never for a number that is not finite."""
        if self.rule is Rule.AT_LEAST:
            return self.error >= -self.tolerance
        if self.rule is Rule.AT_MOST:
            return self.error <= 0.0
        return abs(self.error) <= self.tolerance

    def __str__(self) -> str:
        return (
            f"{self.case}, {self.quantity}: {self.got:.6g} against {self.expected:.6g} "
            f"({self.rule} {self.tolerance:g}, error {self.error:+.3g}; {self.source})"
        )
