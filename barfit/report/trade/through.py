"""Wires led inside the bar, in words."""

from __future__ import annotations

import math

from barfit.model import Connector
from barfit.report.phrases import capital, listed
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.trade.judged import Grade, Judged
from barfit.trade.through import ThroughBarFigures, ThroughHole, ThroughLine
from barfit.units import format_length

_DRILL = (
    "Drill or widen a hole only where the bar's maker allows it: a bar that cracks there takes the "
    "steering with it."
)
DEBURR = "Deburr both edges first and draw the wires in with a lead."
BARE_EDGE = (
    "A bare edge cuts through insulation, and a short there can stop the engine or put out the "
    "lights."
)
_POOR = (Grade.CAUTION, Grade.REJECT)


def through_remarks(figures: ThroughBarFigures, unit: str) -> tuple[Remark, ...]:
    """What is to be said of wires inside the bar: of each line, then of each hole."""
    return (
        *(remark for line in figures.lines for remark in _line(line, unit)),
        *(remark for hole in figures.holes for remark in _hole(hole, unit)),
    )


def _line(line: ThroughLine, unit: str) -> tuple[Remark, ...]:
    found = [
        _of_line(line, "bore_length", "Inside the bar", line.inside, Quantity.LENGTH),
        _of_line(line, "bore_extra", "More than outside", line.extra, Quantity.LENGTH),
        _fill(line),
        _turn(line, unit),
        _connectors(line, unit),
    ]
    if line.bend is not None:
        found.insert(3, _bend(line, line.bend, unit))
    return tuple(found)


def _of_line(
    line: ThroughLine,
    key: str,
    term: str,
    judged: Judged,
    quantity: Quantity,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
) -> Remark:
    return Remark(
        key,
        Topic.THROUGH_BAR,
        line.line,
        term,
        judged,
        quantity,
        sentence,
        hint,
        caution,
        line=True,
    )


def _fill(line: ThroughLine) -> Remark:
    fill, sentence, hint = line.fill, "", ""
    if fill.grade in _POOR:
        who = listed([f"{name}" for name in line.sharing])
        verb = "fills" if len(line.sharing) == 1 else "fill"
        share, most = (f"{100.0 * value:.0f} %" for value in (fill.value, fill.limit))
        together = "" if len(line.sharing) == 1 else " together"
        sentence = f"{capital(who)}{together} {verb} {share} of the bar's bore, {most} at most"
        if fill.grade is Grade.REJECT:
            sentence += ": there is no room to lay them side by side" if together else ": it sticks"
        sentence += "."
        hint = "Lead fewer or thinner lines inside, or take a bar with a wider bore."
    if fill.grade is Grade.NOT_KNOWN:
        hint = "Give the 'wall' of the bar's tube to see how far the wires fill it."
    return _of_line(line, line.fill_limit, "Fill of the bore", fill, Quantity.SHARE, sentence, hint)


def _bend(line: ThroughLine, bend: Judged, unit: str) -> Remark:
    sentence = hint = ""
    if bend.grade in _POOR:
        widest, least = (format_length(mm, unit) for mm in (bend.value, bend.limit))
        sentence = (
            f"In the bar's bends {line.line} can lie at a radius of {widest} at most; it takes "
            f"{least}."
        )
        hint = "Lead it outside, or take a bar with wider bends."
    return _of_line(line, "bore_bend", "Radius in the bends", bend, Quantity.LENGTH, sentence, hint)


def _turn(line: ThroughLine, unit: str) -> Remark:
    sentence = hint = ""
    if line.turn.grade in _POOR:
        widest, least = (format_length(mm, unit) for mm in (line.turn.value, line.turn.limit))
        sentence = (
            f"Through its holes {line.line} turns at a radius of {widest} at most; it takes "
            f"{least}."
        )
        hint = "Let it through at a flatter slant: a hole that is longer along the bar."
    return _of_line(
        line, "bore_turn", "Radius at the holes", line.turn, Quantity.LENGTH, sentence, hint
    )


def _connectors(line: ThroughLine, unit: str) -> Remark:
    sentence = hint = caution = ""
    if line.blocked:
        each = [
            f"its '{one.connector.name}' ({_face(one.connector, unit)}) does not pass {one.opening}"
            for one in line.blocked
        ]
        sentence = f"{capital(line.line)}: {listed(each)}."
        them = "it" if len(line.blocked) == 1 else "them"
        hint = f"Take the pins out of {them} and put them back beyond the bar."
        caution = "Note which wire sits where first: swapped pins can put out a brake light."
    elif math.isnan(line.come_off.value):
        hint = "Give its 'connectors' and the bar's 'wall' to see which must come off."
    return _of_line(
        line,
        "bore_connectors",
        "Connectors to take off",
        line.come_off,
        Quantity.COUNT,
        sentence,
        hint,
        caution,
    )


def _face(connector: Connector, unit: str) -> str:
    wide, high = (
        quantity_text(mm, Quantity.FINE_LENGTH, unit) for mm in (connector.width, connector.height)
    )
    return f"{wide.split()[0]} × {high}"


def _hole(hole: ThroughHole, unit: str) -> tuple[Remark, ...]:
    name = f"hole '{hole.hole}'"

    def said(
        key: str, term: str, judged: Judged, sentence: str = "", hint: str = "", caution: str = ""
    ) -> Remark:
        poor = judged.grade in _POOR
        words = (sentence, hint, caution) if poor else ("", "", "")
        return Remark(key, Topic.THROUGH_BAR, name, term, judged, Quantity.LENGTH, *words)

    wires, size, room = (
        format_length(mm, unit) for mm in (hole.bundle, hole.size.value, hole.room.value)
    )
    found = [
        Remark(
            "hole_grommet",
            Topic.THROUGH_BAR,
            name,
            "Grommet for wires of",
            hole.grommet,
            Quantity.LENGTH,
            sentence=f"The {name} needs a grommet for {listed(list(hole.lines))}.",
            hint=DEBURR,
            caution=BARE_EDGE,
        ),
        said(
            "hole_room",
            "Room for the grommet",
            hole.room,
            f"{capital(listed(list(hole.lines)))}, {wires} thick together, "
            + (
                f"do not pass the {name}, {size} wide."
                if hole.room.grade is Grade.REJECT
                else f"leave {room} in the {name}, too little for a grommet."
            ),
            "Lead fewer lines through it, or take a bar with a larger hole.",
            _DRILL,
        ),
        said(
            "hole_size",
            "Width across the bar",
            hole.size,
            f"The {name} is {size} wide: more than {format_length(hole.size.limit, unit)} weakens "
            "the bar too much.",
            "An oval hole, longer along the bar, takes less from it.",
            _DRILL,
        ),
        said(
            "hole_to_clamp",
            "Edge to the clamp",
            hole.clamp,
            _clamp_words(hole, name, unit),
            "Put it further out, on a straight stretch.",
            _DRILL,
        ),
    ]
    if hole.crown is not None:
        found.append(
            said(
                "hole_to_crown",
                "Edge to a bend's crown",
                hole.crown,
                f"The {name} is at the crown of a bend, which is stretched already.",
                "Put it on a straight stretch.",
                _DRILL,
            )
        )
    return tuple(found)


def _clamp_words(hole: ThroughHole, name: str, unit: str) -> str:
    if hole.between:
        return f"The {name} is between the clamps, where the bar is most loaded."
    if hole.clamp.value < 0.0:
        return (
            f"The {name} is under a clamp: it weakens the bar where it is most loaded, and the "
            "wires cannot come out."
        )
    away = format_length(hole.clamp.value, unit)
    return f"The {name} is only {away} from the clamp, where the bar is most loaded."
