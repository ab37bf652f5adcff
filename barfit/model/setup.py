"""All of one question."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from barfit.model.bars import BarSet
from barfit.model.controls import Control
from barfit.model.job import Job
from barfit.model.lines import Line
from barfit.model.machine import Machine
from barfit.model.measured import Uncertainty
from barfit.model.rider import PlaceLimits, Rider


@dataclass(frozen=True)
class Setup:
    """All of one question: this machine, these bars against those, these lines.

    ``unit`` is the file's length unit, "mm" or "in": how bare numbers are written, and the first
    choice for showing lengths. ``limits`` are those of the catalogue that this setup sets for
    itself, by key, in the units used inside; ``place_limits`` those of the law where it is ridden.
    ``other_bars``, each with a name, could be fitted instead of the new ones. ``job`` is what
    was decided and done about fitting them. ``source`` is the
    text the setup was read from; saving rewrites that text so that comments survive. ``folder`` is
    where it was, for the names of mesh files in it. Neither of these two counts in comparisons.
    """

    title: str
    note: str
    unit: str
    machine: Machine
    stock: BarSet
    new: BarSet
    controls: tuple[Control, ...]
    lines: tuple[Line, ...]
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    limits: tuple[tuple[str, float], ...] = ()
    other_bars: tuple[BarSet, ...] = ()
    rider: Rider = field(default_factory=Rider)
    place_limits: PlaceLimits = field(default_factory=PlaceLimits)
    job: Job = field(default_factory=Job)
    source: str = field(default="", compare=False, repr=False)
    folder: str = field(default="", compare=False, repr=False)

    def line(self, name: str) -> Line:
        """The line of that name. Raises KeyError."""
        for line in self.lines:
            if line.name == name:
                return line
        raise KeyError(name)

    def asks_same(self, other: Setup) -> bool:
        """Whether the other setup has the same answer: all but the job itself is equal."""
        return self is other or replace(self, job=other.job) == other

    def bars(self, stock: bool) -> BarSet:
        """The stock or the new bars."""
        return self.stock if stock else self.new
