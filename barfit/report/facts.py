"""All that is known of one line as short facts under headings: what a side panel lists."""

from __future__ import annotations

import math
from dataclasses import dataclass

from barfit.analysis import Cause, LineFinding, LineSweep, Verdict
from barfit.analysis.inputs import STIFFNESS
from barfit.analysis.stops import crosses_steering
from barfit.analysis.touching import Pinch, Touch
from barfit.model import Line, Machine
from barfit.report.phrases import capital, travel_words, turn_words
from barfit.report.sentences import (
    clip_sentence,
    longest_sentence,
    snap_sentence,
    stays_sentence,
    varies,
    window_sentence,
)
from barfit.report.sureness import band, found_slack_sentences, order_sentence
from barfit.report.torque import torque_words
from barfit.report.touching import force_words
from barfit.report.twist import twist_sentence
from barfit.trade import Grade
from barfit.units import format_angle, format_length, parse_length

SLACK_HERE = "Slack here"
_METRE = 1000.0  # mm
_TELLING = 0.1  # mm: a smaller difference is one of rounding


@dataclass(frozen=True)
class Fact:
    """A term with its value. ``turn`` (rad) and ``travel`` (mm) are the pose it speaks of; None
    where it speaks of none, or of any suspension position. ``tip`` explains the term; ``beside`` is
    what to compare the value with; ``grade`` how it stands to that, where it was held against it.
    """

    term: str
    value: str
    tip: str = ""
    turn: float | None = None
    travel: float | None = None
    beside: str = ""
    grade: Grade | None = None


@dataclass(frozen=True)
class Section:
    """Facts that belong together, and whole sentences about them."""

    heading: str
    facts: tuple[Fact, ...]
    notes: tuple[str, ...] = ()

    @property
    def grades(self) -> tuple[Grade, ...]:
        """The grades of those of its facts that have one."""
        return tuple(fact.grade for fact in self.facts if fact.grade is not None)

    @property
    def grave(self) -> bool:
        """Whether any of its facts needs minding."""
        return Grade.CAUTION in self.grades or Grade.REJECT in self.grades


def chief_facts(
    finding: LineFinding, line: Line, unit: str, machine: Machine | None = None
) -> tuple[Section, ...]:
    """Its length; what to measure again, where that decides; and last its slack."""
    again = measure_again(finding, unit) if _decides(finding, line, unit) else ()
    return (
        _length_section(finding, line, unit),
        *again,
        _slack_section(finding, line, unit, machine),
    )


def further_facts(finding: LineFinding, line: Line, unit: str) -> tuple[Section, ...]:
    """What else there is: contact, twist, torque, and what its numbers hang on."""
    again = () if _decides(finding, line, unit) else measure_again(finding, unit)
    return (*_contact(finding, unit), *_twist(finding), *_torque(finding), *again)


def _decides(finding: LineFinding, line: Line, unit: str) -> bool:
    """Whether it hangs on measuring again if it fits, or which length to order."""
    doubtful = finding.verdict is Verdict.UNCERTAIN
    return doubtful or bool(order_sentence(finding, line, unit))


def measure_again(finding: LineFinding, unit: str) -> tuple[Section, ...]:
    """The measurements that make most of the margin's band, each with its own part of it."""
    tip = "So far off the margin may be on account of this one alone, with a chance of 95 %."
    facts = [
        Fact(_cause_words(cause), f"± {format_length(2.0 * cause.share, unit)}", tip)
        for cause in finding.sure.causes
    ]
    return (Section("To be surer, measure again", tuple(facts)),) if facts else ()


def _cause_words(cause: Cause) -> str:
    return "How stiff it is (estimate)" if cause.thing == STIFFNESS else capital(cause.words)


def pose_text(turn: float, travel: float) -> str:
    """A pose in few words: "33° left, fork extended"."""
    fork = travel_words(travel).removeprefix("with the ")
    return ", ".join(word for word in (turn_words(turn), fork) if word)


def fork_only(finding: LineFinding, swept: LineSweep) -> str:
    """Where a line is short only away from ride height: "with the fork extended"; or ""."""
    if finding.verdict is not Verdict.SHORT:
        return ""
    short = [
        float(travel)
        for travel, slack in zip(swept.travels, swept.slack, strict=True)
        if (slack < 0.0).any()
    ] or [finding.worst_travel]
    words = [travel_words(travel) for travel in short]
    return " or ".join(dict.fromkeys(words)) if all(words) else ""


def _length_section(finding: LineFinding, line: Line, unit: str) -> Section:
    window = finding.window
    needed = _length(finding.needed, unit)
    if window is not None and window.blame is not None:
        needed = "no length helps"
    facts = [
        Fact(
            "Installed",
            _length(finding.installed, unit),
            "Length of the line between its two fittings, rigid ends counted in.",
        ),
        Fact(
            "Needed",
            needed,
            "Shortest length that reaches at the worst pose, bends no tighter than allowed and\n"
            "keeps the least slack of its kind.",
        ),
    ]
    if window is not None and window.longest != math.inf:
        longest = "not known" if math.isnan(window.longest) else _length(window.longest, unit)
        facts.append(Fact("Longest", longest, "Longest length that is still sensible."))
    facts.append(
        Fact(
            "Margin",
            band(finding.margin, finding.sure.two_sigma, unit, signed=True).replace("-", "−"),
            "Installed less needed, and the band it is in with a chance of 95 %. Below zero it is\n"
            "what the line needs more.",
        )
    )
    found = found_slack_sentences(finding, line, unit)
    if not finding.sure.odd and found:
        sure = finding.sure
        before = band(finding.margin - sure.margin_by, 2.0 * sure.before, unit, signed=True)
        facts.append(Fact("Without the slack found", before.replace("-", "−"), found.pop()))
    notes = (
        _installed_note(finding, unit),
        stays_sentence(finding, line, unit),
        longest_sentence(finding, line, unit),
        window_sentence(finding, line, unit),
        clip_sentence(finding, line, unit),
        *found,
    )
    return Section("Length", tuple(facts), tuple(filter(None, notes)))


def _installed_note(finding: LineFinding, unit: str) -> str:
    """Why the margin is not installed less needed to the last figure, where that shows; or ""."""
    by = finding.sure.margin_by + finding.sure.needed_by
    if abs(by) < _TELLING or math.isnan(finding.margin) or math.isnan(finding.needed):
        return ""
    shown = [parse_length(format_length(mm, unit)) for mm in (finding.installed, finding.needed)]
    if format_length(shown[0] - shown[1], unit) == format_length(finding.margin, unit):
        return ""
    much = format_length(abs(by), unit)
    much = "a little" if much.startswith("0 ") else f"about {much}"
    return (
        f"By the slack found on the machine the line is {much} "
        f"{'longer' if by > 0.0 else 'shorter'} than the file says; its "
        "margin counts that in."
    )


def _slack_section(finding: LineFinding, line: Line, unit: str, machine: Machine | None) -> Section:
    turns = crosses_steering(line)
    facts = [
        Fact(
            "Least slack",
            _length(finding.slack, unit),
            "What the line has to spare at its worst pose.",
        ),
        _worst(finding, turns),
        Fact(SLACK_HERE, "–", "What it has to spare at the pose shown."),
        *(_tight(finding) if turns else ()),
        Fact(
            "Smallest radius",
            f"{_length(finding.min_radius, unit)} "
            f"({_length(finding.allowed_radius, unit)} allowed)",
            "Tightest bend of its centreline over the whole turn, and the tightest it may take.",
            finding.radius_turn if math.isfinite(finding.min_radius) else None,
        ),
    ]
    snap = snap_sentence(finding, line, machine)
    return Section("Slack and bend", tuple(facts), (snap,) if snap else ())


def _worst(finding: LineFinding, turns: bool) -> Fact:
    tip = "Where it has least to spare."
    if math.isnan(finding.slack):
        return Fact("Worst at", "–", tip)
    if not varies(finding):
        return Fact("Worst at", "every turn", tip)
    where = pose_text(finding.worst_turn, finding.worst_travel)
    if not turns:
        where = travel_words(finding.worst_travel).removeprefix("with the ") or "every turn"
    return Fact("Worst at", where, tip, finding.worst_turn, finding.worst_travel)


def _tight(finding: LineFinding) -> list[Fact]:
    """Where nothing is left to spare, on the way to either lock."""
    tip = "The turn at which nothing is left to spare."
    stops = [stop for stop in (finding.stops.right, finding.stops.left) if stop is not None]
    if any(stop.turn == 0.0 for stop in stops):
        return [Fact("Goes tight", "straight ahead", tip, 0.0, stops[0].travel)]
    return [
        Fact(
            "Goes tight" if stop is stops[0] else "and",
            ", ".join(
                word
                for word in (
                    turn_words(stop.turn, 1),
                    travel_words(stop.travel).removeprefix("with the "),
                )
                if word
            ),
            tip,
            stop.turn,
            stop.travel,
        )
        for stop in stops
    ]


def _contact(finding: LineFinding, unit: str) -> tuple[Section, ...]:
    facts = [_pinch(pinch, unit) for pinch in finding.pinches]
    facts += [_touch(touch, unit) for touch in finding.touches]
    return (Section("What it touches", tuple(facts)),) if facts else ()


def _pinch(pinch: Pinch, unit: str) -> Fact:
    return Fact(
        f"Pinched between {pinch.steered} and {pinch.standing}",
        f"{_length(pinch.gap, unit)} of {_length(pinch.room, unit)}",
        "The room that the two leave the line at its least, and what it needs.",
        pinch.turn,
        pinch.travel,
    )


def _touch(touch: Touch, unit: str) -> Fact:
    pressed = force_words(touch.force)
    value = f"touches, {pressed}"
    if touch.rubs:
        value = f"rubs {_length(touch.sliding, unit)}, {pressed}"
    return Fact(
        capital(touch.part),
        value,
        "How far it slides where it rubs, and the most it is pressed on with.",
        touch.worst_turn,
        touch.worst_travel,
    )


def _twist(finding: LineFinding) -> tuple[Section, ...]:
    twist = finding.twist
    if twist is None:
        return ()
    tip = "How far the line is turned about itself between two fittings that hold it."
    if not math.isfinite(twist.rate):
        return (Section("Twist", (Fact("Greatest", "not known", tip),)),)
    rate, allowed = format_angle(twist.rate * _METRE), format_angle(twist.allowed * _METRE)
    facts = (
        Fact(
            "Greatest",
            f"{format_angle(abs(twist.greatest))} at {pose_text(twist.turn, twist.travel)}",
            tip,
            twist.turn,
            twist.travel,
        ),
        Fact("Per metre", f"{rate} ({allowed} allowed)", tip),
    )
    note = twist_sentence(finding)
    return (Section("Twist", facts, (note,) if note else ()),)


def _torque(finding: LineFinding) -> tuple[Section, ...]:
    torque = finding.torque
    if torque is None:
        return ()
    words = [_torque_words(value, finding) for value in (torque.right_lock, torque.left_lock)]
    tip = "What the line does to the bar by its stiffness and weight, fork at ride height."
    if words[0] == words[1]:
        if words[0] == torque_words(0.0):
            return ()
        facts: tuple[Fact, ...] = (Fact("At either lock", words[0], tip),)
    else:
        facts = (
            Fact("At right lock", words[0], tip, torque.turns[0], 0.0),
            Fact("At left lock", words[1], tip, torque.turns[-1], 0.0),
        )
    return (Section("It turns the bar", facts),)


def _torque_words(torque: float, finding: LineFinding) -> str:
    if math.isnan(torque) and finding.verdict is not Verdict.NOT_KNOWN:
        return "too short to get there"
    return torque_words(torque)


def _length(mm: float, unit: str) -> str:
    """With a true minus sign, as in a table of numbers."""
    return format_length(mm, unit).replace("-", "−")
