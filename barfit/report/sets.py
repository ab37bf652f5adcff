"""A seller's set in words."""

from __future__ import annotations

from typing import Any

from barfit.catalogue import line_kinds
from barfit.report.money import amount_text, range_values, sum_text
from barfit.report.phrases import capital, listed
from barfit.report.plain import known
from barfit.units import format_length
from barfit.workshop.sets import Covers, LeftOver, SetFit, SetLine

_THAN = {-1: "is surely cheaper than", 0: "is within the range of", 1: "is surely dearer than"}


def set_sentences(fit: SetFit, currency: str, unit: str) -> list[str]:
    """Everything to be said of one set, the verdict first."""
    said = [_verdict(fit), *_misfits(fit, unit), *_estimates(fit)]
    if lacks := [one.line for one in fit.of(Covers.LACKS)]:
        said.append(f"It lacks {listed([f'the {name}' for name in lacks])}.")
    if apart := [one.line for one in fit.of(Covers.APART)]:
        names = listed([f"the {name}" for name in apart])
        said.append(f"No set of this kind holds anything for {names}: bought apart.")
    if fit.left_over:
        said.append(f"Left over: {listed([_left_over(one, unit) for one in fit.left_over])}.")
    return [*said, *_prices(fit, currency)]


def _verdict(fit: SetFit) -> str:
    covered, all_of = len(fit.of(Covers.FITS)), len(fit.could)
    price = f"'{fit.name}'"
    if not fit.lines:
        return f"{price}: no line needs another, so it is of no use here."
    which = "lines that need another"
    if fit.of(Covers.APART):
        which += " and can come in such a set"
    if not fit.could:
        return f"{price}: what is needed is in no such set, so it is of no use here."
    if fit.complete:
        return f"{price} covers all {all_of} {which}."
    if not covered:
        return f"{price} covers no line that needs another."
    names = listed([f"the {one.line}" for one in fit.of(Covers.FITS)])
    return f"{price} covers {covered} of {all_of} {which}: {names}."


def _misfits(fit: SetFit, unit: str) -> list[str]:
    said = [_misfit(one, unit) for one in fit.of(Covers.SHORT, Covers.LONG)]
    said += [
        f"{capital(one.line)}: with {format_length(one.length, unit)} it would not do "
        f"({one.verdict})."
        for one in fit.of(Covers.UNFIT)
    ]
    unknown = [f"the {one.line}" for one in fit.of(Covers.NOT_KNOWN)]
    if unknown:
        said.append(f"Whether it suits {listed(unknown)} is not known.")
    return said


def _estimates(fit: SetFit) -> list[str]:
    """That what a part of the set is held against is an estimate; none where every length is sure.
    A part that a line needs and the set lacks is not held against anything.
    """
    held = fit.of(Covers.FITS, Covers.SHORT, Covers.LONG, Covers.UNFIT)
    names = [f"the {one.line}" for one in held if one.unsure]
    if not names:
        return []
    lengths = (
        "the length it needs is an estimate"
        if len(names) == 1
        else ("the lengths they need are estimates")
    )
    return [f"Of {listed(names)} {lengths}: measure again before buying the set."]


def _misfit(one: SetLine, unit: str) -> str:
    off, length = format_length(one.off, unit), format_length(one.length, unit)
    how = "short" if one.covers is Covers.SHORT else "too long"
    return f"{capital(one.line)}: {off} {how} with it ({length})."


def _left_over(one: LeftOver, unit: str) -> str:
    part = one.part
    label = line_kinds()[part.kind].label
    if part.length is not None:
        size = format_length(part.length, unit)
    else:
        size = format_length(part.longer or 0.0, unit, signed=True)
    count = f"{one.quantity} × " if one.quantity > 1 else ""
    return f"{count}{label} {size} ({one.why})"


def _prices(fit: SetFit, currency: str) -> list[str]:
    said = []
    if not fit.price[1]:
        return ["What it costs is not known: type in its price."]
    if fit.of(Covers.FITS):
        singly = f"buying the same singly, {sum_text(fit.covered, currency)}"
        if fit.covered is None:
            singly = "buying the same singly, which is not known for all of it"
            than = "is to be held against"
        else:
            than = _THAN[fit.against(fit.covered)]
        text = f"At {amount_text(fit.price, currency)} it {than} {singly}"
        if fit.made_up is not None and fit.made_up != fit.covered:
            text += f", or {sum_text(fit.made_up, currency)} with cables and hoses made up"
        said.append(f"{text}.")
    if fit.besides[1] or fit.unpriced:
        left = [f"the {name}" for name in fit.unpriced]
        without = f", without {listed(left)}, whose price is not known" if left else ""
        said.append(
            f"With what has still to be bought singly it comes to "
            f"{sum_text(fit.all_in, currency, bool(fit.unpriced))}{without}."
        )
    return said


def set_values(fit: SetFit) -> dict[str, Any]:
    """One set as plain values for JSON. Lengths mm."""
    return {
        "name": fit.name,
        "note": fit.note or None,
        "price": range_values(fit.price),
        "complete": fit.complete,
        "lines": [
            {
                "line": one.line,
                "covers": str(one.covers),
                "length": known(one.length),
                "off": known(one.off),
                "verdict": None if one.verdict is None else str(one.verdict),
                "measure_first": one.unsure,
            }
            for one in fit.lines
        ],
        "left_over": [
            {
                "kind": one.part.kind,
                "length": one.part.length,
                "longer": one.part.longer,
                "quantity": one.quantity,
                "why": str(one.why),
            }
            for one in fit.left_over
        ],
        "bought_singly": range_values(fit.covered),
        "made_up": range_values(fit.made_up),
        "besides": range_values(fit.besides),
        "all_in": range_values(fit.all_in),
        "unpriced": list(fit.unpriced),
    }
