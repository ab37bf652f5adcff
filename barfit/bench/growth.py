"""How the cost grows: times at four sizes each, and the power of the size that fits them best.

One sweep of a machine has parts that do not grow (layout, tables, calls from Python), so its power
lies below 1 where the sizes are small; a power above 1 would be a fault.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from rich.table import Table

from barfit.analysis import sweep
from barfit.bench.peer import together, turned
from barfit.bench.space_checks import SPANS
from barfit.bench.speed import bundled_setup, twelve_lines
from barfit.bench.timing import timed
from barfit.mechanics.start import settled
from barfit.mechanics.track import follow
from barfit.model import Setup

_MOST = 1.15  # power: linear but for what the machine's caches and its other work do


@dataclass(frozen=True)
class Growth:
    """``seconds`` for something at each of ``sizes``, and the most its power should be."""

    what: str
    sizes: tuple[int, ...]
    seconds: tuple[float, ...]

    @property
    def power(self) -> float:
        """The exponent p of time ~ size^p, by least squares on the logarithms."""
        return float(np.polyfit(np.log(self.sizes), np.log(self.seconds), 1)[0])

    @property
    def met(self) -> bool:
        """Whether it grows no faster than linearly."""
        return self.power <= _MOST


def growths(repeats: int) -> list[Growth]:
    """Cost by nodes, by lines and by poses."""
    setup = twelve_lines(bundled_setup())
    return [
        _measured(
            "nodes of a line: 12 lines followed over 12 poses, per Newton step",
            (41, 81, 161, 321),
            _steps,
            repeats,
        ),
        _measured(
            "lines: a sweep of 81 poses", (6, 12, 24, 48), lambda n: _lines(setup, n), repeats
        ),
        _measured(
            "poses: a sweep of 12 lines", (41, 81, 161, 321), lambda n: _poses(setup, n), repeats
        ),
    ]


def _measured(
    what: str,
    sizes: tuple[int, ...],
    make: Callable[[int], tuple[Callable[[], object], float]],
    repeats: int,
) -> Growth:
    seconds = []
    for size in sizes:
        work, share = make(size)
        seconds.append(timed(work, repeats) / share)
    return Growth(what, sizes, tuple(seconds))


def _steps(nodes: int) -> tuple[Callable[[], object], float]:
    """Following the bench's spans, and how many Newton steps that takes."""
    lines = [turned(replace(span, nodes=nodes)) for span in SPANS.values()]
    rods, moving = together(lines)
    first, _ = settled(rods, np.array([poses[0].length for poses in lines]), nodes)
    poses = list(range(len(moving.start)))
    steps = sum(int(outcome.steps.sum()) for _, _, outcome in follow(rods, moving, poses, first))
    return lambda: list(follow(rods, moving, poses, first)), steps


def _lines(setup: Setup, count: int) -> tuple[Callable[[], object], float]:
    own = [setup.lines[k % len(setup.lines)] for k in range(count)]
    named = tuple(replace(line, name=f"{line.name}, {k}") for k, line in enumerate(own))
    many = replace(setup, lines=named)
    return lambda: sweep(many, stock=True), 1.0


def _poses(setup: Setup, count: int) -> tuple[Callable[[], object], float]:
    whole = setup.machine.lock_left + setup.machine.lock_right
    step = whole / (count - 1)
    assert step <= math.radians(2.1)
    return lambda: sweep(setup, stock=True, step=step), 1.0


def growth_table(found: list[Growth]) -> Table:
    """Each subject with its times and the power that fits them."""
    table = Table(title="Growth of cost: time ~ size^power, least squares over four sizes")
    table.add_column("by")
    for name in ("sizes", "ms", "power", "at most"):
        table.add_column(name, justify="right")
    table.add_column("met")
    for one in found:
        table.add_row(
            one.what,
            " ".join(str(size) for size in one.sizes),
            " ".join(f"{1e3 * seconds:.3g}" for seconds in one.seconds),
            f"{one.power:.2f}",
            f"{_MOST:g}",
            "yes" if one.met else "no",
        )
    return table
