"""How far the search for remedies is, in words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from barfit.report.phrases import listed

NAMED = 4  # lines that are named; more are counted


def sought_sentence(sought: Sequence[str]) -> str:
    """That what some lines need is still missing: what stands here is not complete; "" where none
    is sought.
    """
    if not sought:
        return ""
    return f"Not complete: what the {_names(sought)} {_need(sought)} is still being worked out."


def searched_sentence(done: int, every: int) -> str:
    """How many of the lines that do not fit are done, and that till then nothing is complete."""
    lines = "line" if every == 1 else "lines"
    return (
        f"Looking for what can be done: {done} of {every} {lines} done. Nothing here is complete "
        "before that."
    )


def trying_text(trying: Iterable[tuple[str, str]]) -> str:
    """What is being tried: "Now: throttle cable, move a clip; clutch cable, re-route"."""
    told = [f"{line}, {means}" for line, means in trying]
    return f"Now: {'; '.join(told)}" if told else ""


def _names(lines: Sequence[str]) -> str:
    more = len(lines) - NAMED
    if more > 1:
        return listed([*lines[:NAMED], f"{more} other lines"])
    return listed([*lines])


def _need(lines: Sequence[str]) -> str:
    return "needs" if len(lines) == 1 else "need"
