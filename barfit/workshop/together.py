"""The setup with everything done that was decided: each remedy was judged alone, this is all of
them at once, every line of the length that is bought.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from barfit.analysis import LineFinding, problems
from barfit.model import Control, Line, Setup
from barfit.remedies import Means, Remedy
from barfit.remedies.lengths import grown
from barfit.workshop.line_items import SAME, added, replacements

_Part = TypeVar("_Part", Control, Line)


@dataclass(frozen=True)
class Together:
    """The ``setup`` with everything done; ``clash`` are the lines whose remedies want the bar or a
    control otherwise than one before them did: theirs is left out. ``problems`` are the reasons, as
    sentences, why it cannot be laid out so.
    """

    setup: Setup
    clash: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()


def together(
    setup: Setup, taken: Mapping[str, Remedy | None], found: Sequence[LineFinding]
) -> Together:
    """Everything at once. Where a lower bar is taken, nothing: it is not known which one."""
    remedies = [one for one in taken.values() if one is not None and one.means is not Means.LEAVE]
    if any(one.means is Means.LOWER_BAR for one in remedies):
        return Together(setup)
    new, clash = setup.new, []
    controls: dict[str, Control] = {}
    lines: dict[str, Line] = {}
    for one in remedies:
        moved = _changed(setup.controls, one.setup.controls)
        bars = one.setup.new if one.setup.new != setup.new else None
        if (bars and new not in (setup.new, bars)) or any(
            controls.get(control.name, control) != control for control in moved
        ):
            clash.append(one.line)
            continue
        new = bars or new
        controls |= {control.name: control for control in moved}
        for line in _changed(setup.lines, one.setup.lines):
            if line.name == one.line or taken.get(line.name) is None:
                lines[line.name] = line
    lengths = {one.line.name: one.length for one in replacements(setup, taken)}
    lengths |= {
        one.line: setup.line(one.line).length + added(one)[0]
        for one in remedies
        if one.means is Means.EXTENSION
    }
    as_is = {one.line: one for one in found}
    for name, length in lengths.items():
        own = lines.get(name, setup.line(name))
        if abs(own.length - length) > SAME and name in as_is:
            line = setup.line(name)
            lines[name] = grown(line, as_is[name], length - line.length)
    after = replace(
        setup,
        new=new,
        controls=tuple(controls.get(one.name, one) for one in setup.controls),
        lines=tuple(lines.get(one.name, one) for one in setup.lines),
    )
    return Together(after, tuple(clash), tuple(problems(after)))


def _changed(before: Sequence[_Part], after: Sequence[_Part]) -> list[_Part]:
    """The parts that are not as they were, found by their names."""
    was = {one.name: one for one in before}
    return [one for one in after if one != was.get(one.name)]
