"""Lines that clips divide: which span is short, and which clip would have to slide to cure it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from barfit.analysis.lengths import SpanNeed
from barfit.analysis.sweep import LineSweep

_SMALL = 0.05  # mm that need not be spoken of


@dataclass(frozen=True)
class SpanRoom:
    """A span between the stations ``between``: its length between what grips it, what it needs
    (the slack it should keep counted in; nan: no length helps) and what it has to spare, mm.
    """

    between: tuple[str, str]
    length: float
    needed: float

    @property
    def spare(self) -> float:
        """Length less need, mm; negative: short."""
        return self.length - self.needed


@dataclass(frozen=True)
class Slide:
    """``clip`` would have to grip the line ``by`` mm further towards its fitting ``towards``, so
    that the span on its other side gets longer.
    """

    clip: str
    by: float
    towards: str


@dataclass(frozen=True)
class Clipped:
    """A line's spans and how to cure a short one: by ``slides`` of its clips, as short as will do;
    or, where all spans together need more than there is, not at all: it lacks ``total_short`` mm
    (0 where it does not, nan where a span's need is not known).
    """

    spans: tuple[SpanRoom, ...]
    slides: tuple[Slide, ...]
    total_short: float

    @property
    def short(self) -> tuple[SpanRoom, ...]:
        """The spans that are short."""
        return tuple(span for span in self.spans if span.spare < -_SMALL)

    @property
    def cured(self) -> bool:
        """Whether sliding its clips is all that the line needs."""
        return bool(self.slides) and self.total_short == 0.0


def clipped(line: LineSweep, needs: Sequence[SpanNeed]) -> Clipped | None:
    """How a line divided by clips could be made to reach; None for one without clips."""
    if len(line.spans) < 2:
        return None
    names = line.spans[0].case.layout.names
    spans = tuple(
        SpanRoom(
            (names[span.case.first], names[span.case.last]),
            span.case.length,
            need.least + span.case.least,
        )
        for span, need in zip(line.spans, needs, strict=True)
    )
    spare = np.array([span.spare for span in spans])
    lack = -float(spare.sum())
    if math.isnan(lack):
        return Clipped(spans, (), math.nan)
    if lack > 0.0:
        return Clipped(spans, (), lack if spare.min() < -_SMALL else 0.0)
    slides = []
    for span, by in zip(spans[:-1], _slides(spare), strict=True):
        if abs(by) > _SMALL:
            # more line on the near side of a clip: it grips further towards the far fitting
            slides.append(Slide(span.between[1], abs(by), names[-1] if by > 0.0 else names[0]))
    return Clipped(spans, tuple(slides), 0.0)


def _slides(spare: np.ndarray) -> np.ndarray:
    """How far each clip (S-1,) must grip further along the line, mm, so that no span lacks any:
    the least sum of slides. Span k gains what clip k is slid and loses what clip k-1 is.

    As a linear programme in the slides' positive and negative parts.
    """
    clips = len(spare) - 1
    gain = np.vstack((np.eye(clips), np.zeros((1, clips))))
    gain -= np.vstack((np.zeros((1, clips)), np.eye(clips)))
    found = linprog(
        np.ones(2 * clips), A_ub=-np.hstack((gain, -gain)), b_ub=spare, bounds=(0.0, None)
    )
    if found.status != 0:
        raise ArithmeticError(f"no slides were found for spans that spare {spare}: {found.message}")
    slides: np.ndarray = found.x[:clips] - found.x[clips:]
    return slides
