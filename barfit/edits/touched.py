"""What a step was about, told from the setups before and after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from barfit.edits.names import Named, find
from barfit.model import Control, Line, OutletPlace, Setup


@dataclass(frozen=True)
class Touched:
    """What is not as it was, by its name afterwards: a ``line``, and the number of its ``station``
    where that is what changed; a ``control``; a ``solid``; ``bars``, "new" or "stock"; the
    ``machine``. Of several things of a kind the first.
    """

    line: str | None = None
    station: int | None = None
    control: str | None = None
    solid: str | None = None
    bars: str | None = None
    machine: bool = False


def touched(before: Setup, after: Setup) -> Touched:
    """What a step from one setup to the other was about."""
    control = _changed(before.controls, after.controls)
    if control is not None:
        return _at_control(before, after, control)
    bars = next((k for k in ("new", "stock") if getattr(before, k) != getattr(after, k)), None)
    solid = _changed(before.machine.solids, after.machine.solids)
    rest = replace(before.machine, solids=after.machine.solids)
    line = _changed(before.lines, after.lines)
    return Touched(
        line,
        None if line is None else _station(before, after.line(line)),
        solid=solid,
        bars=bars,
        machine=rest != after.machine,
    )


def _at_control(before: Setup, after: Setup, name: str) -> Touched:
    """A control, and where it is an outlet that changed the end of the line there."""
    now = find(after.controls, name)
    was = next((one for one in before.controls if one.name == name), None)
    outlet = (
        None if was is None or not _outlets_alone(was, now) else _changed(was.outlets, now.outlets)
    )
    place = OutletPlace(name, outlet or "")
    ends = (
        (line, k) for line in after.lines for k, s in enumerate(line.stations) if s.place == place
    )
    line, station = next(ends, (None, None))
    return Touched(None if line is None else line.name, station, control=name)


def _outlets_alone(was: Control, now: Control) -> bool:
    return replace(was, outlets=now.outlets) == now


def _changed(before: Sequence[Named], after: Sequence[Named]) -> str | None:
    """The first of ``after`` that is new, or not as it was; None where none is."""
    was = {one.name: one for one in before}
    return next((one.name for one in after if was.get(one.name) != one), None)


def _station(before: Setup, line: Line) -> int | None:
    """The number of the first of a line's stations that is not as it was. None where it is not
    about one: the line is new, goes another way, or is otherwise another; 0, its first end, where
    one was taken out, so that what comes next there is not taken for it.
    """
    was = next((one for one in before.lines if one.name == line.name), None)
    if was is None or was.routing != line.routing or was.stations == line.stations:
        return None
    if len(line.stations) < len(was.stations):
        return 0
    pairs = zip(was.stations, line.stations, strict=False)
    return next((k for k, (old, new) in enumerate(pairs) if old != new), len(was.stations))
