"""What is written over a moving picture: in few words, for one pose at a time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from barfit.analysis import LineFinding
from barfit.model import Setup
from barfit.report.phrases import capital, turn_words
from barfit.units import format_length


def bars_caption(setup: Setup, stock: bool) -> str:
    """Which setup and bars are shown."""
    whose = "stock" if stock else "new"
    return f"{setup.title}  ·  {whose} bars: {setup.bars(stock).bar.name}"


def pose_caption(
    turn: float,
    travel: float,
    slacks: Mapping[str, float],
    findings: Iterable[LineFinding],
    unit: str,
) -> str:
    """The turn angle (rad), the fork's position (mm) off ride height, and of all lines the worst
    off there, with its slack in words.

    ``slacks`` has what each line has to spare at that turn, mm; nan where it is not known. How bad
    that is is judged by what each line should keep; without a finding, that is nothing.
    """
    where = "Straight ahead" if turn_words(turn) == "straight ahead" else turn_words(turn)
    if abs(travel) >= 0.5:
        way = "compressed" if travel > 0.0 else "extended"
        where += f", fork {way} {format_length(abs(travel), unit)}"
    return f"{capital(where)}  ·  {_worst_words(slacks, findings, unit)}"


def _worst_words(slacks: Mapping[str, float], findings: Iterable[LineFinding], unit: str) -> str:
    least = {finding.line: finding.least for finding in findings}
    unknown = [name for name, slack in slacks.items() if math.isnan(slack)]
    known = {name: slack for name, slack in slacks.items() if name not in unknown}
    worst = min(known, key=lambda name: known[name] - least.get(name, 0.0), default="")
    told = ""
    if worst:
        slack, keep = known[worst], least.get(worst, 0.0)
        much = format_length(abs(slack), unit)
        if slack < 0.0:
            told = f"{worst}: {much} too short"
        elif slack < keep:
            told = f"{worst}: only {much} of slack, should keep {format_length(keep, unit)}"
        else:
            told = f"least to spare: {worst}, {much} of slack"
    lost = f"not known: {unknown[0] if len(unknown) == 1 else f'{len(unknown)} lines'}"
    return "  ·  ".join(part for part in (told, lost if unknown else "") if part)
