"""What is said first of a set of bars, wherever it is said: what can hurt people before all else.

The list of lines, the comparison of bars, what a customer is shown, sheets and the command line all
take their top line from here, so that none of them can leave out what another says.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from barfit.analysis import LineFinding, Verdict
from barfit.analysis.stops import SteeringStops, crosses_steering, steering_stops
from barfit.model import Setup
from barfit.report.phrases import capital, listed, travel_words, turn_words, within
from barfit.report.remarks import Remark, rejects
from barfit.report.sentences import steering_sentence, stops_sentence, summary
from barfit.trade import Grade

_FREE_PLAY = "cable_free_play"
_MOST = 3  # of what is not acceptable, named before the rest is counted
_WRONG = {  # what it means for the bars that a figure not about a line is not acceptable
    "hand_gap": "the bars trap a hand",
    "hard_gap": "hard parts meet before the stops",
    "clamp_spare": "the risers do not clamp the bar on its straight",
    "riser_bore": "the bar does not fit its risers",
    "control_bore": "the controls do not fit the bar",
    "hole_room": "a hole does not take its grommet",
    "hole_to_clamp": "a hole lies under a clamp",
    "height_over_seat": "the grips are not at a height this place allows",
    "height_over_shoulders": "the grips are not at a height this place allows",
    "height_over_fastening": "the grips are not at a height this place allows",
    "overall_width": "the bars are not of a width this place allows",
}


@dataclass(frozen=True)
class Headline:
    """The top line, part by part; each a sentence, "" where there is nothing of it.

    ``dangers`` are what is not acceptable, of lines and bars alike, and what stops the steering;
    ``lengths`` how many lines fit; ``cautions`` how many there are beyond length.
    """

    dangers: str
    lengths: str
    cautions: str

    @property
    def words(self) -> str:
        """All of it, what hurts people first."""
        return " ".join(filter(None, (self.dangers, self.lengths, self.cautions)))


def headline(findings: Iterable[LineFinding], remarks: Iterable[Remark], setup: Setup) -> Headline:
    """What is to be said first of these findings and remarks about ``setup``."""
    found, said = list(findings), list(remarks)
    wrong = refusals(said)
    dangers = [*wrong[:_MOST]]
    if more := len(wrong) - _MOST:
        dangers += [f"{more} more not acceptable"] if more > 0 else []
    dangers += too_far(found, setup)
    stops = steering_stops(found, setup.lines)
    if not stops.ahead:  # said already
        dangers += filter(None, (_stopped(stops, setup),))
    count = sum(remark.grade is Grade.CAUTION for remark in said)
    cautions = f"{count} cautions" if count > 1 else "One caution" if count else ""
    return Headline(
        f"{capital('; '.join(dangers))}." if dangers else "",
        summary(found),
        f"{cautions} beyond length." if cautions else "",
    )


def steering_headline(
    findings: Sequence[LineFinding], remarks: Iterable[Remark], setup: Setup
) -> str:
    """What stops the steering or that no line does, after what of the lines is not acceptable and
    which of them cannot even be joined.
    """
    wrong = refusals(remark for remark in remarks if remark.line)
    before = [*wrong[:_MOST], *too_far(findings, setup)]
    told = [f"{capital('; '.join(before))}."] if before else []
    if not steering_stops(findings, setup.lines).ahead:  # said already
        told.append(steering_sentence(findings, setup))
    return " ".join(told)


def too_far(findings: Iterable[LineFinding], setup: Setup) -> list[str]:
    """Which lines are surely too short however the bars are turned, as parts of a sentence: they
    cannot even be joined. Those that turn along stop no steering and would else go unmentioned.
    """
    places: dict[str, list[str]] = {}
    for one in findings:
        if one.verdict is not Verdict.SHORT:
            continue
        if crosses_steering(setup.line(one.line)):
            if any(
                stop is not None and stop.turn == 0.0 for stop in (one.stops.right, one.stops.left)
            ):
                places.setdefault("even straight ahead", []).append(one.line)
        elif one.slack < 0.0:
            where = travel_words(one.worst_travel, setup.machine) or "even straight ahead"
            places.setdefault(where, []).append(one.line)
    told = []
    for where, lines in places.items():
        named = listed([f"the {line}" for line in lines])
        who = named if len(lines) <= _MOST else f"{len(lines)} lines"
        told.append(f"{who} {'is' if len(lines) == 1 else 'are'} too short {where}")
    return told


def _stopped(stops: SteeringStops, setup: Setup) -> str:
    """Where the steering is stopped, as part of a sentence, "" where nowhere; of two lines that
    stop it, each to its side, the turns alone: over the turn strip, and in a sentence of their own,
    they are named.
    """
    both = [stop for stop in (stops.right, stops.left) if stop is not None]
    named = len({stop.line for stop in both}) < 2
    if named or any(stop.pulled or stop.turn == 0.0 or not stop.certain for stop in both):
        return within(stops_sentence(stops, setup.machine).rstrip("."))
    turns = listed([turn_words(stop.turn, 1) for stop in both])
    return f"lines stop the steering at {turns}"


def refusals(remarks: Iterable[Remark]) -> list[str]:
    """What is not acceptable as parts of a sentence, that of lines first, each thing once."""
    said = rejects(remarks)
    tight = [f"the {one.about}" for one in said if one.line and one.key == _FREE_PLAY]
    told = [_of_line(one) for one in said if one.line and one.key != _FREE_PLAY]
    if tight:  # where they lose it is said of each of them: here it would be lines of degrees
        told.insert(0, f"{listed(tight)} {'has' if len(tight) == 1 else 'have'} no free play left")
    told += [
        _WRONG.get(one.key, f"'{within(one.label)}' is not acceptable")
        for one in said
        if not one.line
    ]
    return list(dict.fromkeys(told))


def _of_line(remark: Remark) -> str:
    if remark.sentence:
        return gist(remark.sentence, remark.about)
    return f"'{within(remark.label)}' of the {remark.about} is not acceptable"


def gist(sentence: str, line: str = "") -> str:
    """What a sentence says before it goes into limits and remedies, as part of another one;
    a ``line`` it begins with is given its article.
    """
    first = re.split(r"[;:.]\s", sentence)[0].rstrip(".")
    if line and first.startswith(capital(line)):
        return f"the {line}{first[len(line) :]}"
    return within(first)
