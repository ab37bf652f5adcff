"""The things of a setup that are measured, each as a whole: a bar, a control, a station, a line."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from barfit import edits
from barfit.analysis import LineFinding
from barfit.edits.names import find
from barfit.model import Bar, BarSet, How, Measured, OutletPlace, Setup


class Part(StrEnum):
    """What kind of thing it is."""

    MACHINE = "machine"
    BAR = "bar"
    RISER = "riser"
    CONTROL = "control"
    LINE = "line"
    STATION = "station"
    SOLID = "solid"


@dataclass(frozen=True)
class Thing:
    """Something to hold a tape to. ``which`` is "stock", "new" or "both" of bars and risers, else
    the control's or line's name; ``station`` counts along the line.
    """

    part: Part
    which: str = ""
    station: int = -1

    def name(self, setup: Setup) -> str:
        """What it is called, as part of a sentence. Raises KeyError, IndexError."""
        if self.part is Part.MACHINE:
            return "locks and rake"
        if self.part in (Part.BAR, Part.RISER):
            return f"{'' if self.which == 'both' else f'{self.which} '}{self.part}"
        if self.part in (Part.CONTROL, Part.SOLID):
            return self.which
        if self.part is Part.LINE:
            return f"length of the {self.which}"
        return f"{setup.line(self.which).stations[self.station].name} ({self.which})"

    def how(self, setup: Setup) -> Measured:
        """How it was found; not at all, where any of it was not. Raises KeyError, IndexError."""
        found = tuple(self._hows(setup))
        return How.NOT_MEASURED if How.NOT_MEASURED in found else found[0]

    def _hows(self, setup: Setup) -> Iterator[Measured]:
        if self.part is Part.MACHINE:
            yield setup.machine.measured
        elif self.part is Part.BAR:
            yield setup.bars(self.which == "stock").bar.measured
        elif self.part is Part.RISER:
            yield setup.bars(self.which == "stock").riser.measured
        elif self.part is Part.CONTROL:
            control = find(setup.controls, self.which)
            yield control.measured
            yield from (outlet.measured for outlet in control.outlets)
        elif self.part is Part.SOLID:
            yield find(setup.machine.solids, self.which).measured
        elif self.part is Part.LINE:
            how = setup.line(self.which).measured
            yield How.TAPE if how is None else how
        else:
            yield setup.line(self.which).stations[self.station].measured


def things(setup: Setup, findings: Sequence[LineFinding] = ()) -> tuple[Thing, ...]:
    """Everything of the setup that is measured, in the order in which one would walk round it.

    A station at a control's outlet is measured with the control. Of the solids those alone matter
    that a line lies against or is pinched by, as the ``findings`` tell.
    """
    found = [Thing(Part.BAR, which) for which in _eras(setup, lambda bars: bars.bar)]
    if isinstance(setup.new.bar, Bar) or isinstance(setup.stock.bar, Bar):
        found += [Thing(Part.RISER, which) for which in _eras(setup, lambda bars: bars.riser)]
    found.append(Thing(Part.MACHINE))
    found += [Thing(Part.CONTROL, control.name) for control in setup.controls]
    for line in setup.lines:
        found.append(Thing(Part.LINE, line.name))
        found += [
            Thing(Part.STATION, line.name, at)
            for at, station in enumerate(line.stations)
            if not isinstance(station.place, OutletPlace)
        ]
    against = {part for finding in findings for part in lain_against(finding)}
    found += [Thing(Part.SOLID, s.name) for s in setup.machine.solids if s.name in against]
    return tuple(found)


def lain_against(finding: LineFinding) -> frozenset[str]:
    """The parts that a line lies against or is pinched by, by name."""
    pinched = (part for pinch in finding.pinches for part in (pinch.steered, pinch.standing))
    return frozenset((*(touch.part for touch in finding.touches), *pinched))


def count(setup: Setup, findings: Sequence[LineFinding] = ()) -> tuple[int, int]:
    """How many things are measured, and how many there are, as `things` has them."""
    every = things(setup, findings)
    left = sum(one.how(setup) is How.NOT_MEASURED for one in every)
    return len(every) - left, len(every)


def unmeasured_sentence(setup: Setup, findings: Sequence[LineFinding] = ()) -> str:
    """That some of it is not measured, and what that does; "" where all is."""
    done, whole = count(setup, findings)
    if done == whole:
        return ""
    left = whole - done
    them = "everything" if not done else f"{left} of {whole} places and dimensions"
    is_are = "is" if left == 1 or not done else "are"
    return (
        f"Not measured yet: {them} {is_are} still a guess, and every margin is as much less sure. "
        "Do not order by it."
    )


def mark(setup: Setup, thing: Thing, how: How) -> Setup:
    """The setup with the whole thing found that way. Raises KeyError, IndexError."""
    if thing.part is Part.MACHINE:
        return edits.change_machine(setup, measured=how)
    if thing.part in (Part.BAR, Part.RISER):
        change = edits.change_bar if thing.part is Part.BAR else edits.change_riser
        for stock in _sides(thing.which):
            setup = change(setup, stock, measured=how)
        return setup
    if thing.part is Part.CONTROL:
        control = find(setup.controls, thing.which)
        outlets = tuple(replace(outlet, measured=how) for outlet in control.outlets)
        return edits.change_control(setup, thing.which, outlets=outlets, measured=how)
    if thing.part is Part.LINE:
        return edits.change_line(setup, thing.which, measured=how)
    if thing.part is Part.SOLID:
        return edits.change_solid(setup, thing.which, measured=how)
    return edits.change_station(setup, thing.which, thing.station, measured=how)


def _eras(setup: Setup, part: Callable[[BarSet], object]) -> tuple[str, ...]:
    """Once, where stock and new bars have the same of it."""
    return ("both",) if part(setup.stock) == part(setup.new) else ("new", "stock")


def _sides(which: str) -> tuple[bool, ...]:
    """Whether of the stock bars, for each of those a thing belongs to."""
    return {"stock": (True,), "new": (False,), "both": (True, False)}[which]
