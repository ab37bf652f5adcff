"""Remedies made by hand, for tests of what follows from them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from barfit.analysis import Verdict
from barfit.model import Setup
from barfit.remedies import Means, Remedies, Remedy
from barfit.scenario import load
from barfit.trade.splices import Joint, Splice, SplicePlan

FOLDER = Path(__file__).parents[2] / "scenarios"


def bundled(name: str) -> Setup:
    """A bundled scenario."""
    return load(FOLDER / f"{name}.toml")


def remedy(setup: Setup, line: str, means: Means, longer: float = 0.0, **fields: Any) -> Remedy:
    """One that cures, the line as much ``longer``."""
    changed = tuple(
        replace(one, length=one.length + longer) if one.name == line else one for one in setup.lines
    )
    return Remedy(
        line=line,
        means=means,
        setup=replace(setup, lines=changed),
        verdict=Verdict.REACHES,
        margin=10.0,
        length=setup.line(line).length + longer,
        longer=longer,
        **fields,
    )


def remedies(*each: Remedy) -> tuple[Remedies, ...]:
    """Each as the only thing that can be done about its line."""
    return tuple(Remedies(one.line, (one,)) for one in each)


def splice_plan(line: str, gauges: tuple[str, ...], extension: float) -> SplicePlan:
    """Every wire with a piece of ``extension`` in it, 30 mm further along than the one before."""

    def joint(at: float) -> Joint:
        return Joint(at, ("a", "b"), 22.0, 1e-4)

    splices = tuple(
        Splice(f"wire {k}", gauge, joint(100.0 + 30 * k), joint(100.0 + 30 * k + extension), 0.0)
        for k, gauge in enumerate(gauges)
    )
    return SplicePlan(line, extension, splices, (), 1, 2 * len(gauges))
