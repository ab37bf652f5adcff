"""What the bars do to rider and steering, in words."""

from __future__ import annotations

from barfit.model import Setup
from barfit.report.phrases import at_turn
from barfit.report.quantities import Quantity
from barfit.report.remarks import Remark, Topic
from barfit.trade.judged import Grade, Judged
from barfit.trade.rider import HandFigures, HeightFigures, ReachFigures, RiderFigures
from barfit.units import format_angle, format_length

_LAW = "Rules differ from place to place and change: check local law."
_FELT = 0.05  # share by which a lever arm must change to be worth a sentence; estimate


def rider_remarks(figures: RiderFigures, setup: Setup, unit: str) -> tuple[Remark, ...]:
    """What is to be said of the bars as a whole."""
    seat = " (seat estimated)" if figures.seat_estimated else ""
    found = [*_hand(figures.hand), *_steering(figures)]
    if figures.reach is not None:
        found += _reach(figures.reach, setup, seat)
    return (*found, *_heights(figures.heights, unit, seat))


def _remark(
    key: str,
    term: str,
    judged: Judged,
    quantity: Quantity = Quantity.LENGTH,
    sentence: str = "",
    hint: str = "",
    caution: str = "",
) -> Remark:
    return Remark(key, Topic.RIDER, "", term, judged, quantity, sentence, hint, caution)


def _moved(key: str, term: str, other_way: str, judged: Judged) -> Remark:
    return Remark(key, Topic.RIDER, "", term, judged, Quantity.LENGTH, other_way=other_way)


def _hand(hand: HandFigures) -> list[Remark]:
    return [
        _moved("hand_moved_up", "Hands moved up", "Hands moved down", hand.moved_up),
        _moved("hand_moved_back", "Hands moved back", "Hands moved forward", hand.moved_back),
        _moved("hand_moved_in", "Hands moved in, each", "Hands moved out, each", hand.moved_in),
        _remark("grip_sweep", "Grips point back, from above", hand.sweep, Quantity.ANGLE),
        _remark("grip_downsweep", "Grips point down", hand.downsweep, Quantity.ANGLE),
        _remark("grip_turned", "Grips turned against stock", hand.wrist, Quantity.ANGLE),
    ]


def _steering(figures: RiderFigures) -> list[Remark]:
    steering = figures.steering
    ratio = steering.arm_ratio.value
    sentence = ""
    if abs(ratio - 1.0) > _FELT:
        more, less = ("lighter", "slower") if ratio > 1.0 else ("heavier", "quicker")
        far = "farther from" if ratio > 1.0 else "nearer to"
        sentence = (
            f"The hands are {abs(ratio - 1.0):.0%} {far} the steering axis: steering feels {more} "
            f"and {less}."
        ).replace("%", " %")
    return [
        _remark("lever_arm", "Grip to steering axis", steering.arm),
        _remark(
            "lever_arm_ratio",
            "Grip to steering axis, over stock",
            steering.arm_ratio,
            Quantity.RATIO,
            sentence,
        ),
        _remark("hand_travel", "Hand travel lock to lock", steering.travel),
        _remark("hand_across", "Hand at one lock to hand at the other", steering.across),
        _remark("trail", "Trail (no bars change it)", steering.trail),
    ]


def _reach(reach: ReachFigures, setup: Setup, seat: str) -> list[Remark]:
    turned = reach.lean_turned
    sentence = hint = caution = ""
    if turned.grade is Grade.CAUTION:
        where = at_turn(turned.turn or 0.0, setup.machine)
        sentence = (
            f"For the far hand {where} this rider leans {format_angle(turned.value)} forward."
        )
        if turned.value >= reach.most_lean:
            sentence = (
                f"This rider's far hand does not reach its grip {where}, not even leaning "
                f"{format_angle(reach.most_lean)} forward."
            )
        hint = "More pullback, less width, or a seat further forward."
        caution = "Who cannot follow the bar cannot turn it to its lock."
    return [
        _remark("arm_share", f"Arm's reach taken, upright{seat}", reach.share, Quantity.SHARE),
        _remark(
            "rider_lean_ahead", f"Lean forward, straight ahead{seat}", reach.lean, Quantity.ANGLE
        ),
        _remark(
            "rider_lean",
            f"Lean forward for the far hand, turned{seat}",
            turned,
            Quantity.ANGLE,
            sentence,
            hint,
            caution,
        ),
    ]


def _heights(heights: HeightFigures, unit: str, seat: str) -> list[Remark]:
    rows = (
        ("height_over_seat", f"Grips over the loaded seat{seat}", heights.over_seat),
        ("height_over_shoulders", f"Grips over the shoulders{seat}", heights.over_shoulders),
        ("height_over_fastening", "Grips over the bar's fastening", heights.over_fastening),
        ("overall_width", "Overall width", heights.width),
    )
    return [
        _remark(key, term, one, Quantity.LENGTH, *_law(term, one, unit)) for key, term, one in rows
    ]


def _law(term: str, judged: Judged, unit: str) -> tuple[str, str, str]:
    """Sentence, hint and caution where the limit entered for a place is not kept."""
    if judged.grade is not Grade.REJECT:
        return "", "", ""
    value, allowed = (format_length(mm, unit) for mm in (judged.value, judged.limit))
    limit = "at most" if judged.value > judged.limit else "at least"
    what = term.replace(" (seat estimated)", " (the seat is estimated)")
    hint = "Lower bars or risers, or bars of another width."
    return f"{what}: {value}; {limit} {allowed} is entered for this place.", hint, _LAW
