"""How hoses make up a circuit: which sections it has, in order, and what joins them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from barfit.catalogue import line_kinds
from barfit.model import BarPlace, Control, HoseEnd, Line, Master, OutletPlace, Role, Setup
from barfit.trade.hose_data import Known, known


@dataclass(frozen=True)
class End:
    """One end of one hose of a circuit; ``last`` for its last fitting. ``part`` as in `HoseEnd`."""

    line: str
    last: bool
    part: str
    fitted: HoseEnd


@dataclass(frozen=True)
class Section:
    """One hose of a circuit. ``first`` is the end nearer to the master cylinder. ``rigid`` mm is
    what of its length is metal at the ends.
    """

    line: Line
    known: Known
    first: End
    second: End
    rigid: float

    def free(self, length: float) -> float:
        """The hose that can swell, mm, where it is ``length`` from fitting to fitting."""
        return length - self.rigid

    @property
    def on_bar(self) -> bool:
        """Whether a swap of bars moves it: it is held on the bar or at a control."""
        places = (station.place for station in self.line.stations)
        return any(isinstance(place, OutletPlace | BarPlace) for place in places)


@dataclass(frozen=True)
class Joint:
    """One bolt or union, with the ends on it: more than one where banjos are stacked."""

    ends: tuple[End, ...]

    @property
    def washers(self) -> int:
        """Sealing washers of the joint: one on either side of each eye, shared between two."""
        eyes = sum(end.fitted.banjo for end in self.ends)
        return eyes + 1 if eyes else 0


@dataclass(frozen=True)
class Circuit:
    """The hoses between a master cylinder and what it works, in order from the master cylinder.

    ``control`` is the control on the bar that works it, None where no hose of it starts at one.
    """

    name: str
    sections: tuple[Section, ...]
    control: Control | None

    @property
    def master(self) -> Master | None:
        """Its master cylinder, None where the file says nothing of it."""
        return self.control.master if self.control else None

    @property
    def ends(self) -> tuple[End, ...]:
        """Both ends of every section."""
        return tuple(end for one in self.sections for end in (one.first, one.second))

    def has(self, line: str) -> bool:
        """Whether a line is one of its sections."""
        return any(one.line.name == line for one in self.sections)

    def at(self, part: str) -> tuple[End, ...]:
        """The ends that are fitted to a part."""
        return tuple(end for end in self.ends if end.part == part)

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Every joint once: ends marked double that share a part share its bolt."""
        found: list[Joint] = []
        for part in dict.fromkeys(end.part for end in self.ends):
            here = self.at(part)
            stacked = tuple(end for end in here if end.fitted.double)
            found += [Joint((end,)) for end in here if not end.fitted.double]
            found += [Joint(stacked)] if stacked else []
        return tuple(found)

    def opened(self, lines: Collection[str]) -> tuple[Joint, ...]:
        """The joints that replacing these hoses opens."""
        return tuple(joint for joint in self.joints if any(end.line in lines for end in joint.ends))

    @property
    def bleeders(self) -> tuple[str, ...] | None:
        """The parts with a bleed screw; None where the file says nothing of any."""
        told = [end for end in self.ends if end.fitted.bleeder is not None]
        if not told:
            return None
        return tuple(dict.fromkeys(end.part for end in told if end.fitted.bleeder))


def circuits(setup: Setup) -> tuple[Circuit, ...]:
    """The circuits of a setup, in the order in which its lines first name them."""
    controls = {control.name: control for control in setup.controls}
    members: dict[str, list[tuple[Line, Known]]] = {}
    for line in setup.lines:
        if line_kinds()[line.kind].family == "hose":
            found = known(line)
            members.setdefault(found.circuit, []).append((line, found))
    made = []
    for name, lines in members.items():
        first = [_control(line) for line, _ in lines]
        control = next((controls[one] for one in first if one), None)
        made.append(Circuit(name, _in_order(lines, control), control))
    return tuple(made)


def anti_lock_units(setup: Setup, circuit: Circuit) -> tuple[str, ...]:
    """The parts of a circuit that are modulators by the role of the solid of that name."""
    units = {solid.name for solid in setup.machine.solids if solid.role is Role.MODULATOR}
    return tuple(dict.fromkeys(end.part for end in circuit.ends if end.part in units))


def _control(line: Line) -> str | None:
    place = line.stations[0].place
    return place.control if isinstance(place, OutletPlace) else None


def _in_order(lines: list[tuple[Line, Known]], control: Control | None) -> tuple[Section, ...]:
    """From part to part, starting at the master cylinder; what nothing joins comes last."""
    left = [(line, found, *_ends(line, found)) for line, found in lines]
    reached = [control.name if control else left[0][2].part]
    ordered: list[Section] = []
    while left:
        for part in reached:
            here = [row for row in left if part in (row[2].part, row[3].part)]
            if here:
                break
        else:
            here = left[:1]
            part = here[0][2].part
        line, found, start, end = here[0]
        left.remove(here[0])
        first, second = (start, end) if start.part == part else (end, start)
        ordered.append(Section(line, found, first, second, _rigid(line, control)))
        reached.append(second.part)
    return tuple(ordered)


def _rigid(line: Line, control: Control | None) -> float:
    place = line.stations[0].place
    at_outlet = 0.0
    if isinstance(place, OutletPlace) and control is not None and place.control == control.name:
        at_outlet = next(o.stub for o in control.outlets if o.name == place.outlet)
    return (line.stations[0].stub or at_outlet) + line.stations[-1].stub


def _ends(line: Line, found: Known) -> tuple[End, End]:
    return (
        End(line.name, False, found.start.part or _part(line, 0), found.start),
        End(line.name, True, found.end.part or _part(line, -1), found.end),
    )


def _part(line: Line, index: int) -> str:
    station = line.stations[index]
    return station.place.control if isinstance(station.place, OutletPlace) else station.name
