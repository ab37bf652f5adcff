"""What the window says in words: lengths, what a verdict means, where care is due. No Qt."""

from __future__ import annotations

import math
import re

from barfit.analysis import LineFinding, Verdict
from barfit.catalogue import LineKind
from barfit.model import Line
from barfit.report.phrases import capital
from barfit.report.sureness import bends_decide, length_changed, order_sentence
from barfit.units import format_length


def length_text(mm: float, unit: str, signed: bool = False, with_unit: bool = True) -> str:
    """A length as the window shows it, with a true minus sign."""
    text = format_length(mm, unit, signed=signed, with_unit=with_unit)
    return text.replace("-", "−")


def diameter_text(mm: float, unit: str) -> str:
    """A diameter: to a tenth of a mm, or the nearest sixteenth of an inch."""
    if unit != "mm" or round(mm, 1) == round(mm):
        return format_length(mm, unit)
    return format_length(mm, unit, decimals=1)


def kind_text(line: Line, kind: LineKind, unit: str) -> str:
    """What kind of line it is, where its name does not say so already, and how thick."""
    thick = f"{diameter_text(line.diameter, unit)} outside"
    return thick if kind.label == line.name else f"{capital(kind.label)}, {thick}"


def typeset(text: str) -> str:
    """A sentence as it is shown: with true minus signs, and no line ending within a number."""
    joined = re.sub(r"(?<=±) |(?<=\d) (?=\d+/\d|mm\b|N\b)", "\u00a0", text)
    return re.sub(r"(?<!\w)-(?=\d)", "−", joined)


def meaning(finding: LineFinding, line: Line, kind: LineKind, unit: str) -> str:
    """What follows from the verdict on a line, in one to three short sentences."""
    thing = kind.family

    def length(mm: float) -> str:
        return format_length(mm, unit)

    if finding.verdict is Verdict.NOT_KNOWN:
        return (
            "The calculation found no trustworthy shape for it at some pose. Measure this one on "
            "the machine before you rely on it."
        )
    if finding.verdict is Verdict.UNCERTAIN:
        return f"{_doubt(finding, unit)} {_settling(finding, line)}".rstrip()
    if finding.verdict is Verdict.SHORT:
        if finding.clipped is not None and finding.clipped.cured:
            return "It is long enough altogether, but not between its clips: slide them."
        leaves = f"so that {length(finding.least)} of slack is left where it is tightest"
        if bends_decide(finding):
            leaves = f"as wide as its bends have to be, with {length(finding.least)} beyond that"
        told = (
            f"Too short for these bars. The way it goes now it has to be at least "
            f"{length(finding.needed)} long, {leaves}; led another way it may need less."
        )
        return " ".join(filter(None, (told, order_sentence(finding, line, unit))))
    if finding.verdict is Verdict.PINCHED:
        return (
            "Squeezed between two parts it is cut or crushed sooner or later, and may stop the "
            "steering. Lead it another way before riding."
        )
    if finding.verdict is Verdict.RUBS:
        return (
            f"It reaches, but a {thing} that slides on another part wears through. Guide it clear "
            "of there, or sleeve it and look at it at every service."
        )
    if finding.verdict is Verdict.BEND_TOO_TIGHT:
        return (
            f"Bent tighter than {length(finding.allowed_radius)} a {thing} may kink, drag or wear "
            "out early. Another routing or another length opens the bend."
        )
    if finding.verdict is Verdict.TOO_LONG:
        return (
            f"It reaches, with up to {length(finding.excess)} spare: a loop that can snag, chafe "
            f"or be pinched at the stop; {length(finding.max_excess)} is the most it should have."
        )
    if finding.verdict is Verdict.MARGINAL:
        told = (
            f"It reaches, but keeps less than the {length(finding.least)} of slack a {thing} "
            "should have at its worst pose: it cannot stay as it is."
        )
        return " ".join(filter(None, (told, order_sentence(finding, line, unit))))
    return (
        f"It may stay. At its worst pose it keeps {length(finding.slack)} of slack; a {thing} "
        f"should keep at least {length(finding.least)}."
    )


def _doubt(finding: LineFinding, unit: str) -> str:
    """How far a margin may be off, in a sentence."""
    if math.isnan(finding.sure.sigma):
        needed = format_length(finding.needed, unit)
        return f"How far off the {needed} it needs may be is not known."
    band = format_length(finding.sure.two_sigma, unit)
    if finding.sure.odd:
        return f"As long as that is so, its margin is only known to ± {band}."
    return f"What was measured settles its margin to ± {band} only."


def _settling(finding: LineFinding, line: Line) -> str:
    """What would settle whether a line fits."""
    if not math.isnan(length_changed(finding, line)):
        return ""  # its sentence says what to do
    if finding.sure.odd:
        return "Check the slack found and what the file says of this line against each other."
    again = "again what most of that comes from" if finding.sure.causes else "it again"
    if line.found_slack is not None:
        return f"Measure {again}; the slack found on the machine already counts."
    return f"Measure {again}, or give the slack found on the machine."


AUTHORITY = "The machine's service manual and local law have the last word."


def caution(kind: LineKind) -> str:
    """A word of care for a line the rider's life hangs on; "" for the others."""
    name = kind.name
    if "brake" in name:
        return (
            "Brake line: wrongly laid it can tear, or be cut, when you brake. Let someone "
            f"qualified fit and test it. {AUTHORITY}"
        )
    if "throttle" in name or name == "ride_by_wire_lead":
        return (
            "Throttle: before riding, it must snap shut by itself and idle must not rise at any "
            f"turn angle. {AUTHORITY}"
        )
    if "clutch" in name:
        return (
            "Clutch: before riding, free play must remain and the lever must fully release at "
            f"both locks. {AUTHORITY}"
        )
    return ""
