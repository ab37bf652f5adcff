"""Findings in plain words, for someone at the bench."""

from __future__ import annotations

import math
from collections.abc import Iterable

from barfit.analysis import LineFinding, Verdict
from barfit.analysis.stops import (
    SteeringStop,
    SteeringStops,
    Stop,
    crosses_steering,
    steering_stops,
)
from barfit.analysis.window import Limit, Window
from barfit.catalogue import line_kinds
from barfit.model import Line, Machine, Setup
from barfit.report.phrases import at_turn, capital, listed, travel_words, turn_words
from barfit.report.sureness import needs_words, uncertain_sentence
from barfit.report.touching import pinch_sentence, rub_sentence
from barfit.units import format_length

CAUTION = (
    "A prediction, not a release: before riding, turn the bar lock to lock by hand and work the "
    "fork through its travel. For brakes, throttle and steering the machine's service manual and "
    "local law decide."
)


_QUOTED = 5.0  # mm: lines are quoted and measured no finer (common practice)
_LEAST = {"mm": "1 mm", "in": "1/16 in"}  # what a length that shows as 0 is less than


def sentence(finding: LineFinding, line: Line, unit: str, machine: Machine | None = None) -> str:
    """What was found for one line, in one sentence; lengths in ``unit``.

    With the ``machine`` a turn to its lock is called full lock.
    """
    name = capital(line.name)

    def length(mm: float) -> str:
        text = format_length(mm, unit)
        return text if not text.startswith("0 ") else f"less than {_LEAST[unit]}"

    pose = _pose_words(finding, line, machine)
    if finding.verdict is Verdict.NOT_KNOWN:
        return f"Whether the {line.name} reaches is not known: {finding.why or 'no reason given'}."
    if finding.verdict is Verdict.UNCERTAIN:
        return uncertain_sentence(finding, line, unit)
    if finding.verdict is Verdict.SHORT:
        slack = f"its slack {pose} is {_signed(finding.slack, unit)}"
        if varies(finding) and crosses_steering(line):
            slack = f"{_goes_tight(finding, machine)}, and {slack}"
        return f"{name} {needs_words(finding, unit)}: {slack}."
    if finding.verdict is Verdict.PINCHED:
        return pinch_sentence(finding, line, unit, machine)
    if finding.verdict is Verdict.RUBS:
        return rub_sentence(finding, line, unit, machine)
    if finding.verdict is Verdict.BEND_TOO_TIGHT:
        radius, allowed = length(finding.min_radius), length(finding.allowed_radius)
        where = f" {at_turn(finding.radius_turn, machine)}" if crosses_steering(line) else ""
        return (
            f"{name} bends to a radius of {radius}{where}, tighter than the {allowed} allowed"
            f"{_remedy(finding, unit)}."
        )
    if finding.verdict is Verdict.TOO_LONG:
        return (
            f"{name} is too long: it has up to {length(finding.excess)} of slack, and more than "
            f"{length(finding.max_excess)} is a loop that snags{_longest(finding, unit)}."
        )
    if finding.verdict is Verdict.MARGINAL:
        if finding.slack < finding.least:
            return (
                f"{name} just reaches: its slack {pose} is {length(finding.slack)}, less than the "
                f"{length(finding.least)} it should keep; it {needs_words(finding, unit)}."
            )
        return f"{name} reaches, but has nothing in hand for its bends{_remedy(finding, unit)}."
    return f"{name} reaches from lock to lock: its least slack, {pose}, is {length(finding.slack)}."


def where_words(finding: LineFinding, line: Line, machine: Machine) -> str:
    """Where a line is short, or has least to spare, in the words of its `sentence`; "" where that
    is about something else.
    """
    if finding.verdict is Verdict.SHORT and varies(finding) and crosses_steering(line):
        return _goes_tight(finding, machine).removeprefix("it ").removeprefix("is ")
    if finding.verdict in (Verdict.SHORT, Verdict.MARGINAL):
        return _pose_words(finding, line, machine)
    return ""


def snap_sentence(finding: LineFinding, line: Line, machine: Machine | None = None) -> str:
    """A warning that a line may snap over between turn angles; "" where none does."""
    if not finding.snaps:
        return ""
    places: dict[str, list[str]] = {}
    for snap in finding.snaps:
        first, last = turn_words(snap.start), turn_words(snap.end)
        between = f"at {first}" if first == last else f"between {first} and {last}"
        places.setdefault(travel_words(snap.travel, machine), []).append(between)
    said = [" ".join([listed(turns), travel]).strip() for travel, turns in places.items()]
    return (
        f"{capital(line.name)} may snap over {listed(said)}: turning back, it lies differently "
        "from the way out."
    )


def stops_sentence(stops: SteeringStops, machine: Machine | None = None) -> str:
    """Which lines stop the steering, or which cables go tight first, and where; "" where none."""
    both = [stop for stop in (stops.right, stops.left) if stop is not None]
    ahead = [stop for stop in both if stop.turn == 0.0]
    if ahead:
        return _tight_ahead(next((stop for stop in ahead if stop.certain), ahead[0]))

    def by(stop: SteeringStop) -> str:
        doubt = "" if stop.certain else "(uncertain)"
        words = [f"by the {stop.line}", travel_words(stop.travel, machine), doubt]
        return " ".join(filter(None, words))

    pulled, stopped = ([s for s in both if s.pulled is is_pulled] for is_pulled in (True, False))
    told = [_pulled_words(pulled, machine)] if pulled else []
    if stopped:
        said = [f"at {turn_words(stop.turn, 1)} {by(stop)}" for stop in stopped]
        if len(stopped) == 2 and by(stopped[0]) == by(stopped[1]):
            turns = [turn_words(stop.turn, 1) for stop in stopped]
            said = [f"at {listed(turns)} {by(stopped[0])}"]
        told.append(f"the steering is stopped {listed(said)}")
    return f"{capital('; '.join(told))}." if told else ""


def _tight_ahead(stop: SteeringStop) -> str:
    """That a line is too short even straight ahead."""
    if stop.pulled:
        is_short = "is" if stop.certain else "may be"
        return f"The {stop.line} {is_short} too short even straight ahead."
    if stop.certain:
        return f"The steering cannot be turned: the {stop.line} is too short straight ahead."
    return (
        f"Whether the steering can be turned is uncertain: the {stop.line} may be too short "
        "straight ahead."
    )


def _pulled_words(stops: list[SteeringStop], machine: Machine | None) -> str:
    """Which cables go tight before any other line."""
    places: dict[str, list[str]] = {}
    for stop in stops:
        doubt = "" if stop.certain else "(uncertain)"
        at = filter(None, (turn_words(stop.turn, 1), travel_words(stop.travel, machine), doubt))
        places.setdefault(stop.line, []).append(" ".join(at))
    said = [f"the {line} goes tight first at {listed(turns)}" for line, turns in places.items()]
    return listed(said)


def steering_sentence(findings: Iterable[LineFinding], setup: Setup) -> str:
    """What stops the steering, or that no line does; in one sentence."""
    found = list(findings)
    if stopped := stops_sentence(steering_stops(found, setup.lines), setup.machine):
        return stopped
    lost = [
        finding
        for finding in found
        if finding.verdict in (Verdict.NOT_KNOWN, Verdict.UNCERTAIN)
        and crosses_steering(setup.line(finding.line))
    ]
    return "No line is known to stop the steering." if lost else "No line stops the steering."


def window_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """Why no length of a line is sensible, where that is for want of a place for its slack."""
    window = finding.window
    if window is None or window.blame is not None or not window.empty:
        return ""
    travel = travel_words(window.travel)
    pose = at_turn(window.turn, None) if crosses_steering(line) else ""
    where = " ".join(word for word in (pose, travel) if word) or "at its loosest"
    start, end = window.between
    return (
        f"No length of the {line.name} suits every pose: long enough for the tightest, {where} it "
        f"{does_words(window, unit)} between '{start}' and '{end}'. Guide it nearer to the "
        "steering axis there, or clip up its slack."
    )


def longest_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """What a line longer than its longest sensible length does, and where; "" if not limited, or
    where `stays_sentence` says it already.
    """
    window = finding.window
    if window is None or window.empty or not math.isfinite(window.longest):
        return ""
    if stays_sentence(finding, line, unit):
        return ""
    return f"{capital(longest_words(finding, line, unit))}."


def longest_words(finding: LineFinding, line: Line, unit: str) -> str:
    """What a line longer than its longest sensible length, which is finite, does, and where."""
    window = finding.window
    assert window is not None
    pose = at_turn(window.turn, None) if crosses_steering(line) else ""
    where = " ".join(word for word in (pose, travel_words(window.travel)) if word)
    if finding.clipped is not None:
        where += f"{', ' if where else ''}between '{window.between[0]}' and '{window.between[1]}'"
    told = f"over {format_length(window.longest, unit)} it {does_words(window, unit)} {where}"
    return told.rstrip()


def stays_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """Why a line that is over its longest sensible length may stay; "" where that is not so.

    A line of the next size sold above the slack to aim for is never called too long.
    """
    window = finding.window
    stays = finding.verdict in (Verdict.REACHES, Verdict.RUBS, Verdict.UNCERTAIN)
    if not stays or window is None or not finding.installed > window.longest:
        return ""
    step = line_kinds()[line.kind].increment
    left = finding.margin - step
    smaller = (
        "would be too short"
        if left < 0.0
        else f"would leave less than the {format_length(finding.target, unit)} to aim for"
    )
    may = "may still be the right size" if finding.verdict is Verdict.UNCERTAIN else "may stay"
    if finding.installed - window.longest <= _QUOTED:
        return (
            f"{capital(line.name)} is as long as is sensible: {longest_words(finding, line, unit)}."
        )
    return (
        f"{capital(line.name)} is longer than it need be: {longest_words(finding, line, unit)}. It "
        f"{may} all the same, because the next size down, {format_length(step, unit)} shorter, "
        f"{smaller}."
    )


def clip_sentence(finding: LineFinding, line: Line, unit: str) -> str:
    """Which span between clips is short and which clip to slide; "" where there is none."""
    clipped = finding.clipped
    if clipped is None or not clipped.short:
        return ""

    def length(mm: float) -> str:
        return format_length(mm, unit)

    alone = len(clipped.short) == 1  # then it lacks what the whole line needs more
    short = listed(
        [
            f"between '{span.between[0]}' and '{span.between[1]}'"
            f"{'' if alone else f' ({length(-span.spare)})'}"
            for span in clipped.short
        ]
    )
    if clipped.cured:
        slides = [
            f"'{slide.clip}' has to grip it {length(slide.by)} nearer to '{slide.towards}'"
            for slide in clipped.slides
        ]
        return f"{capital(line.name)} is short {short} and has enough elsewhere: {listed(slides)}."
    text = f"What the {line.name} needs more is missing {short}"
    spare = -sum(span.spare for span in clipped.short) - clipped.total_short
    if clipped.total_short > 0.0:
        win = f"would win only {length(spare)} of it" if spare >= 1.0 else "would win nothing"
        return f"{text}; sliding its clips {win}."
    return f"{text}."


def summary(findings: Iterable[LineFinding]) -> str:
    """How many lines fit, in one sentence."""
    found = list(findings)
    doubtful = sum(finding.verdict is Verdict.UNCERTAIN for finding in found)
    misfits = [f for f in found if not (f.fits or f.verdict is Verdict.UNCERTAIN)]
    if doubtful and not misfits:
        whether = f"{doubtful} of {len(found)} lines fit" if doubtful > 1 else "one line fits"
        return f"Whether {whether} is uncertain{', the rest do' if doubtful < len(found) else ''}."
    if doubtful:
        return (
            f"{len(misfits)} of {len(found)} lines {'do' if len(misfits) > 1 else 'does'} not fit, "
            f"and whether {doubtful} more {'do' if doubtful > 1 else 'does'} is uncertain."
        )
    if not misfits:
        return "Every line fits." if len(found) != 1 else "The line fits."
    if len(misfits) == len(found):
        return (
            f"None of {len(found)} lines fits as it is."
            if len(found) > 1
            else "The line does not fit."
        )
    return f"{len(misfits)} of {len(found)} lines {'do' if len(misfits) > 1 else 'does'} not fit."


def varies(finding: LineFinding) -> bool:
    """Whether the slack changes over the sweep."""
    return not finding.excess - finding.slack < 1.0


def _goes_tight(finding: LineFinding, machine: Machine | None) -> str:
    """At which turn to either side the line goes tight, as part of a sentence."""
    stops = [stop for stop in (finding.stops.right, finding.stops.left) if stop is not None]
    if not stops or any(stop.turn == 0.0 for stop in stops):
        return "it is tight even straight ahead" if stops else "it is tight"
    return f"it goes tight at {tight_words(stops, machine)}"


def tight_words(stops: Iterable[Stop], machine: Machine | None = None) -> str:
    """Turn angles to a tenth of a degree, with the fork's position where it matters."""
    places: dict[str, list[str]] = {}
    for stop in stops:
        travel = travel_words(stop.travel, machine)
        places.setdefault(travel, []).append(turn_words(stop.turn, 1))
    return listed([" ".join([listed(turns), at]).strip() for at, turns in places.items()])


def does_words(window: Window, unit: str) -> str:
    """What a line longer than its window does."""
    return {
        Limit.BOW: f"hangs more than {format_length(window.max_bow, unit)} from its path",
        Limit.LOOP: "makes a loop",
        Limit.ITSELF: "touches itself",
        Limit.TOUCH: f"touches the {window.part}",
        Limit.BEND: "bends tighter than it may",
        Limit.NONE: "is too long",
    }[window.limit]


def _longest(finding: LineFinding, unit: str) -> str:
    """The longest sensible length, as the end of a sentence, where there is one."""
    window = finding.window
    if window is None or window.empty or not math.isfinite(window.longest):
        return ""
    return f"; over {format_length(window.longest, unit)} it {does_words(window, unit)}"


def _pose_words(finding: LineFinding, line: Line, machine: Machine | None) -> str:
    if not varies(finding):
        return "at every turn"
    travel = travel_words(finding.worst_travel, machine)
    if not crosses_steering(line):
        return travel or "at every turn"
    return at_turn(finding.worst_turn, machine) + (f" {travel}" if travel else "")


def _signed(mm: float, unit: str) -> str:
    """A slack below zero with its sign, however small."""
    text = format_length(mm, unit)
    return text if not text.startswith("0 ") else f"just below {text}"


def _remedy(finding: LineFinding, unit: str) -> str:
    """What would open a bend: a longer line, or why no length does."""
    if finding.why:
        return f"; {finding.why}"
    if finding.margin < 0.0:
        return f"; it {needs_words(finding, unit, bends=False)} to open the bend"
    return ""
