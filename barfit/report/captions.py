"""What is written over a moving picture: in few words, for one pose at a time."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from barfit.analysis import LineFinding, Verdict
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
    radii: Mapping[str, float],
    findings: Iterable[LineFinding],
    unit: str,
) -> str:
    """The turn angle (rad), the fork's position (mm) off ride height, and of all lines the worst
    off there, with its slack in words, or its bend where that is too tight.

    ``slacks`` has what each line has to spare at that turn, mm; nan where it is not known;
    ``radii`` how tightly each is bent there, mm. How bad that is is judged by what each line should
    keep; without a finding, that is nothing.
    """
    where = "Straight ahead" if turn_words(turn) == "straight ahead" else turn_words(turn)
    if abs(travel) >= 0.5:
        way = "compressed" if travel > 0.0 else "extended"
        where += f", fork {way} {format_length(abs(travel), unit)}"
    return f"{capital(where)}  ·  {_worst_words(slacks, radii, list(findings), unit)}"


def _worst_words(
    slacks: Mapping[str, float],
    radii: Mapping[str, float],
    findings: Sequence[LineFinding],
    unit: str,
) -> str:
    least = {finding.line: finding.least for finding in findings}
    unknown = [name for name, slack in slacks.items() if math.isnan(slack)]
    known = {name: slack for name, slack in slacks.items() if name not in unknown}
    short = min(known, key=lambda name: known[name], default="")
    bent = _most_bent(radii, findings)
    worst = min(known, key=lambda name: known[name] - least.get(name, 0.0), default="")
    told = ""
    if short and known[short] < 0.0:
        told = f"{short}: {format_length(-known[short], unit)} too short"
    elif bent is not None:
        now, allowed = (format_length(mm, unit) for mm in (radii[bent.line], bent.allowed_radius))
        told = f"{bent.line}: bend {now}, least {allowed}"
    elif worst:
        slack, keep = known[worst], least.get(worst, 0.0)
        much = format_length(slack, unit)
        if slack < keep:
            told = f"{worst}: only {much} of slack, should keep {format_length(keep, unit)}"
        else:
            told = f"least to spare: {worst}, {much} of slack"
    lost = f"not known: {unknown[0] if len(unknown) == 1 else f'{len(unknown)} lines'}"
    return "  ·  ".join(part for part in (told, lost if unknown else "") if part)


def _most_bent(radii: Mapping[str, float], findings: Sequence[LineFinding]) -> LineFinding | None:
    """Of the lines whose bends are too tight, the one bent furthest beyond what it may."""
    tight = [
        finding
        for finding in findings
        if finding.verdict is Verdict.BEND_TOO_TIGHT
        and radii.get(finding.line, math.inf) < finding.allowed_radius
    ]
    return min(tight, key=lambda one: radii[one.line] / one.allowed_radius, default=None)
