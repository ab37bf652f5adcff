"""The check list before riding, in words: what to do, where to look, why, what is expected."""

from __future__ import annotations

import math
from typing import Any

from barfit.model import Machine, Setup, Tick
from barfit.report.phrases import at_turn, capital, listed, travel_words, within
from barfit.report.plain import degrees, known
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.sureness import band
from barfit.report.trade.circuits import COMPETENT
from barfit.trade.circuits import anti_lock_units, circuits
from barfit.units import format_angle, format_length
from barfit.workshop.check import (
    FLUID_YEARS,
    Answer,
    Check,
    Spot,
    Trouble,
    What,
    disagrees,
)

RULES = (
    "The service manual rules every torque, gap, free play and fluid: where this list has a blank "
    "and no number, the number is in there. A tick only says that somebody looked. Sign when you "
    "have checked all of it yourself, on the machine."
)
BRAKES = (
    "Brakes are for a competent person: the machine's own manual rules how they are adjusted, and "
    "local law may ask for licensed work."
)
SLACK_AND_MARGIN = (
    "Slack is what is to spare when a line is pulled straight, as it is measured by hand. Its "
    "margin is what is left of that when its bends and the slack it should keep have theirs."
)
SLACK_HOW = "Pull each line straight by hand and measure what is to spare, the fork at ride height."
FROM_MANUAL = "from the service manual"

_DO = {
    What.FREE: "Turn the bars from lock to lock, front wheel off the ground, then with the fork "
    "pressed down: free all the way, nothing pulls back, the stops touch first.",
    What.HANDS: "Hands, levers and mirrors stay clear of all that stands at both locks, levers let "
    "go and pulled.",
    What.SNAPS: "Open the throttle and let go, at both locks and straight ahead, engine off and "
    "then running: it snaps shut by itself each time.",
    What.IDLE: "With the engine hot, turn slowly from lock to lock and bounce the bars: idle stays "
    "the same.",
    What.RETURNS: "Open the grip and let go, at both locks and straight ahead: it springs back by "
    "itself each time.",
    What.FOLLOWS: "With the engine hot, turn slowly from lock to lock: it answers to the grip "
    "alone, and no fault lamp comes on.",
    What.THROTTLE_PLAY: "Measure the free play of the throttle at the grip; some is left at both "
    "locks.",
    What.CLUTCH_PLAY: "Measure the free play of the clutch at the lever.",
    What.BRAKE_PLAY: "Measure the free play of the front brake at the lever.",
    What.WHEEL: "Let the lever go and turn the front wheel by hand, off the ground, at both locks: "
    "with the fork extended, then tied down until it is compressed; it turns freely each time.",
    What.HOSE: "Look at it with the front wheel hanging, then with the fork tied down: not taut, "
    "not kinked, and clear of tyre, rim and disc, at both locks.",
    What.HOSE_ABOVE: "Look at it at both locks and on the way: not taut, not kinked, not pinched, "
    "and clear of what is hot or turns.",
    What.RESERVOIR: "Level of the fluid between the marks straight ahead, its port covered at both "
    "locks and on the side stand; cap and seal seated.",
    What.FIRM: "Pull the lever hard and hold it for a minute: it comes up firm and does not creep.",
    What.AIR: "Tap the hose at its high spot while bleeding, until no bubble comes any more; where "
    "the bars can be turned so that it falls from the reservoir on, bleed it there.",
    What.DRY: "Every joint that was opened is dry under pressure, wiped and looked at twice.",
    What.JOINT_TORQUE: "Tighten every joint that was opened with a torque wrench, washers new.",
    What.FLUID: "Write down which fluid was filled in: the one on the cap, nothing else.",
    What.CIRCUITS: "Try all that hangs on it at both locks and while the bars turn.",
    What.FAULTS: "Switch on: every fault lamp goes out as it should; one that does so only while "
    "rolling is looked at by pushing it at walking pace.",
    What.ANTI_LOCK: "Switch on and push it at walking pace: the anti-lock lamp goes out as it "
    "should; where it takes more than that, it is looked at first of all on the slow ride.",
    What.GAP: "Measure the gap of the bar clamps; whether both are equal or one side is closed "
    "first stands in the manual.",
    What.TORQUE: "Tighten the clamp bolts with a torque wrench, in the manual's order.",
    What.SLACK: "Pull it straight by hand and measure what is to spare.",
    What.AGAIN: "Look at everything again after 50 to 100 km.",
    What.FLUID_CHANGE: "Note the day on which the fluid is to be changed again.",
}
_WHY = {
    What.FREE: "a line that stops the steering before its stops do takes the machine off the road",
    What.HANDS: "a hand caught at full lock cannot steer",
    What.SNAPS: "that a throttle closes by itself is required by law in many places",
    What.IDLE: "a cable that is tight at one lock opens the throttle there",
    What.RETURNS: "that a throttle closes by itself is required by law in many places",
    What.FOLLOWS: "a lead that is pulled or pinched while the bars turn sends the wrong signal",
    What.THROTTLE_PLAY: "without free play turning the bars opens the throttle",
    What.CLUTCH_PLAY: "play that goes at one lock lets the clutch slip; more than about 1 mm of "
    "change between the locks is too much (common practice)",
    What.BRAKE_PLAY: "play that goes at one lock leaves the brake dragging there",
    What.WHEEL: "a cable pulled at one lock or end of the travel puts the brake on by itself",
    What.HOSE: "a hose that goes taut or rubs through fails when it is needed",
    What.HOSE_ABOVE: "a hose that goes taut or rubs through fails when it is needed",
    What.RESERVOIR: "a port that comes free draws air",
    What.FIRM: "a soft lever is air, a creeping one a leak",
    What.AIR: "air stays where the hose stands higher than on either side, and the lever goes soft",
    What.DRY: "a leak shows when the lever is pulled hard, and then it is too late",
    What.JOINT_TORQUE: "too little leaks, too much cracks a washer or strips a thread",
    What.FLUID: "whoever fills it up next has to know: kinds of fluid must not be mixed",
    What.CIRCUITS: "a wire that is pulled or pinched fails only while the bars turn",
    What.FAULTS: "a disturbed wire may show by a lamp only",
    What.ANTI_LOCK: "a disturbed sensor lead, or air in the unit, may show by that lamp only",
    What.GAP: "a clamp on the wrong gap cracks or lets the bar turn",
    What.TORQUE: "bars lever hard on their clamps",
    What.SLACK: "what is found tells whether the prediction holds for this machine",
    What.AGAIN: "new parts settle (common practice)",
    What.FLUID_CHANGE: f"fluid takes up water; about {FLUID_YEARS} years is common practice",
}
_CAUTION = {
    What.FREE: "Do not ride while anything is tight at any lock.",
    What.SNAPS: "Do not ride while it does not.",
    What.IDLE: "Do not ride while it changes.",
    What.RETURNS: "Do not ride while it does not.",
    What.FOLLOWS: "Do not ride while it does anything else.",
    What.ANTI_LOCK: "Do not ride while it stays on.",
    What.BRAKE_PLAY: "Do not ride while there is none in any of these places.",
    What.WHEEL: "Do not ride while it drags anywhere.",
    What.FIRM: "Do not ride while it is soft or creeps.",
    What.DRY: "Do not ride while one is damp.",
    What.FAULTS: "Do not ride while one stays on.",
}


_ANGLES = (Trouble.TILT, Trouble.PARKED)


def check_title(check: Check) -> str:
    """What is checked, in a few words: "Slack of the clutch cable, left lock"."""
    about = check.about
    names = {
        What.SLACK: f"Slack of the {about}",
        What.HOSE: f"{capital(about)} clear",
        What.HOSE_ABOVE: f"{capital(about)} clear",
        What.AIR: f"No air at the high spot, {about}",
        What.CIRCUITS: f"Circuits of the {about}",
        What.RESERVOIR: f"Reservoir level, {about}",
        What.FIRM: f"Lever firm and held, {about}",
        What.DRY: f"Joints dry, {about}",
        What.JOINT_TORQUE: f"Joint torque, {about}",
        What.FLUID: f"Fluid filled in, {about}",
        What.FLUID_CHANGE: f"Next change of fluid, {about}",
        What.AGAIN: "Looked at again after 50 to 100 km",
        What.TORQUE: "Clamp torque",
    }
    title = names.get(check.what, capital(str(check.what)))
    return f"{title}, {check.at}" if check.at else title


def do_text(check: Check) -> str:
    """What to do, in a sentence."""
    if check.what is What.CIRCUITS and check.names:
        return f"Try each at both locks and while the bars turn: {listed([*check.names])}."
    if check.what is What.DRY and check.names:
        return f"{_DO[check.what][:-1]}: {listed([*check.names])}."
    if check.what is What.HANDS and check.names:
        stands = listed([f"the {name}" for name in check.names])
        told = _DO[check.what]
        return told.replace("all that stands", stands)
    if check.what is What.AGAIN and check.task:
        return f"After 50 to 100 km: {within(check.task)}"
    if check.what is What.SLACK:
        fork = "" if "fork" in check.at else ", the fork at ride height"
        return f"{_DO[check.what][:-1]}, {place_text(check)}{fork}."
    if check.what in (What.CLUTCH_PLAY, What.BRAKE_PLAY):
        return f"{_DO[check.what][:-1]}, {place_text(check)}."
    return _DO[check.what]


def place_text(check: Check) -> str:
    """Where bars and fork stand: "at full left lock, the fork extended", "straight ahead"."""
    place, _, fork = check.at.partition(", fork ")
    turned = place if place == "straight ahead" else f"at {'full ' * place.endswith('lock')}{place}"
    return f"{turned}, the fork {fork}" if fork else turned


def where_texts(check: Check, unit: str, machine: Machine) -> list[str]:
    """Where to look, a place to a text, the worst first; none where it is plain."""
    told: dict[str, list[str]] = {}
    for spot in check.spots:
        if spot.trouble is Trouble.SLACK:  # both ends of the fork's travel in one
            turn, travel = _pose(spot, machine)
            there = told.setdefault(f"{spot.about} {turn}:", [])
            there.append(f"{_mm(spot, unit)} to spare {travel}".rstrip())
        else:
            told[_spot(spot, unit, machine)] = []
    return [f"{begin} {listed(there)}" if there else begin for begin, there in told.items()]


def why_text(check: Check) -> str:
    """Why it is checked."""
    return f"{capital(_WHY[check.what])}."


def caution_text(check: Check) -> str:
    """What to mind, "" for nothing more."""
    return _CAUTION.get(check.what, "")


def expected_text(check: Check, unit: str) -> str:
    """What a number is expected to be: "predicted 18 ± 5 mm", or that it is in the manual; "" for
    anything but a number.
    """
    if check.answer is not Answer.NUMBER:
        return ""
    if check.what is not What.SLACK:
        return FROM_MANUAL
    if math.isnan(check.predicted):
        return "not predicted"
    return f"predicted {band(check.predicted, check.two_sigma, unit)}"


def found_text(check: Check, tick: Tick, unit: str) -> str:
    """What was found, "" where nothing was written down yet."""
    if tick.found is None:
        return ""
    if check.unit == "mm":
        small = (2 if unit == "in" else 1) if abs(tick.found) < 10.0 else None
        return format_length(tick.found, unit, decimals=small)
    return f"{tick.found:g} {check.unit}"


def disagreement(check: Check, tick: Tick, unit: str) -> str:
    """That what was found is not what was predicted; "" where it may be."""
    if not disagrees(check, tick) or tick.found is None:
        return ""
    off = tick.found - check.predicted
    much = format_length(abs(off), unit)
    less = "less" if off < 0.0 else "more"
    expected = band(check.predicted, check.two_sigma, unit)
    return (
        f"{capital(check.about)}, {check.at}: {found_text(check, tick, unit)} was found, {much} "
        f"{less} than the {expected} predicted. Either the line is not as long or does not go as "
        "the file says: find out which before riding."
    )


def brake_caution(setup: Setup) -> str:
    """Whom brakes are for; more is said of hydraulics and of an anti-lock unit."""
    found = circuits(setup)
    if not found:
        cables = any(line.kind == "front_brake_cable" for line in setup.lines)
        return BRAKES if cables else ""
    if any(anti_lock_units(setup, one) for one in found):
        return (
            f"{COMPETENT} Air in the anti-lock unit may come out with the service tool only: a "
            "lever that is firm at rest can still go soft when the unit works."
        )
    return COMPETENT


def check_values(check: Check, tick: Tick, setup: Setup) -> dict[str, Any]:
    """A check for other programs: mm, degrees."""
    return {
        "key": check.key,
        "topic": str(check.topic),
        "title": check_title(check),
        "do": do_text(check),
        "where": where_texts(check, setup.unit, setup.machine),
        "why": why_text(check),
        "caution": caution_text(check) or None,
        "answer": str(check.answer),
        "unit": check.unit or None,
        "predicted": known(check.predicted),
        "two_sigma": known(check.two_sigma),
        "names": list(check.names),
        "spots": [_spot_values(spot) for spot in check.spots],
        "done": tick.done,
        "note": tick.note or None,
        "found": tick.found,
        "disagrees": disagreement(check, tick, setup.unit) or None,
    }


def _pose(spot: Spot, machine: Machine) -> tuple[str, str]:
    """How bars and fork stand, "" where that does not matter."""
    turn = at_turn(spot.turn, machine) if spot.turn is not None else ""
    return turn, travel_words(spot.travel, machine) if spot.travel is not None else ""


def _spot(spot: Spot, unit: str, machine: Machine) -> str:
    """A place to look at, its pose first named, then what is there."""
    begin = " ".join(filter(None, (spot.about, *_pose(spot, machine))))
    after = f", after '{spot.after}'" if spot.after else ""
    parts = listed([f"the {part}" for part in spot.parts]) if spot.parts else ""
    match spot.trouble:
        case Trouble.SLACK:
            return f"{begin}: {_mm(spot, unit)} to spare"
        case Trouble.HIGH:
            return f"{begin}: high spot {_mm(spot, unit)} from '{spot.after}'"
        case Trouble.CLIP:
            return (
                f"{begin}: touches {parts}{after}; turn that clip away from it, or tie the two "
                "lines together there"
            )
        case Trouble.TIGHT:
            return f"{begin}: least slack, {_mm(spot, unit)}{_margin_words(spot, unit)}"
        case Trouble.PINCH:
            return f"{begin}: between {parts}, {_mm(spot, unit)} apart{after}"
        case Trouble.RUB:
            return f"{begin}: rubs on {parts}{after}"
        case Trouble.TOUCH:
            return f"{begin}: touches {parts}{after}"
        case Trouble.GAP:
            return f"{begin}: {_mm(spot, unit)} to {parts}"
        case Trouble.PLAY:
            much = quantity_text(spot.value, Quantity.LENGTH, unit)
            return f"{spot.about}: predicted to change by {much} from lock to lock"
        case Trouble.TILT:
            return f"{begin}: {format_angle(spot.value)} from level, predicted"
        case Trouble.PARKED:
            return f"{begin} on the side stand: {format_angle(spot.value)} from level, predicted"


def _margin_words(spot: Spot, unit: str) -> str:
    """What of a line's least slack is margin; "" where that is not known."""
    if not math.isfinite(spot.margin):
        return ""
    much = format_length(abs(spot.margin), unit)
    return f", {much} less than it needs" if spot.margin < 0.0 else f", {much} of it margin"


def _mm(spot: Spot, unit: str) -> str:
    return format_length(spot.value, unit)


def _spot_values(spot: Spot) -> dict[str, Any]:
    return {
        "about": spot.about,
        "trouble": str(spot.trouble),
        "turn": degrees(spot.turn) if spot.turn is not None else None,
        "travel": known(spot.travel) if spot.travel is not None else None,
        "value": degrees(spot.value) if spot.trouble in _ANGLES else known(spot.value),
        "parts": list(spot.parts),
        "after": spot.after or None,
        "margin": known(spot.margin),
    }
