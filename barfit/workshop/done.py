"""The setup as it will be: everything done that is to be done about its lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from barfit.model import Setup
from barfit.remedies import Means, Remedy


def done(setup: Setup, taken: Mapping[str, Remedy | None]) -> Setup:
    """The setup with every remedy that is taken, each in what it changes; where a lower bar is
    taken, with that bar alone.

    What remedies do together that were tried one by one shows only once it is turned again.
    """
    chosen = {name: remedy for name, remedy in taken.items() if remedy is not None}
    for remedy in chosen.values():
        if remedy.means is Means.LOWER_BAR:
            return replace(setup, new=remedy.setup.new)
    lines = {line.name: line for line in setup.lines}
    controls = {control.name: control for control in setup.controls}
    bars = setup.new
    for name, remedy in chosen.items():
        for one in remedy.together:
            if one not in chosen:  # what is done about it itself comes first
                lines[one] = remedy.setup.line(one)
        lines[name] = remedy.setup.line(name)
        for control in remedy.setup.controls:
            if control not in setup.controls:
                controls[control.name] = control
        if remedy.setup.new != setup.new:
            bars = remedy.setup.new
    return replace(setup, lines=tuple(lines.values()), controls=tuple(controls.values()), new=bars)
