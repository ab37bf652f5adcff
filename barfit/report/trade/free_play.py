"""Free play of a control cable in words: what turning the bar does to it."""

from __future__ import annotations

from barfit.model import Setup
from barfit.report.phrases import at_turn, capital, listed, travel_words, turn_words
from barfit.report.quantities import Quantity, quantity_text
from barfit.report.remarks import Remark, Topic
from barfit.trade.free_play import FreePlay
from barfit.trade.judged import Grade

_SNAPS = (
    "At both locks, first with the engine off, then running, the throttle must snap shut by "
    "itself, and engine speed must not change as the bar turns."
)
CAUTIONS = {
    "throttle_pull": _SNAPS,
    "throttle_return": _SNAPS,
    "throttle_single": _SNAPS,
    "clutch_cable": "There must be free play at the clutch lever at both locks.",
    "front_brake_cable": (
        "There must be free play at the brake lever at both locks, with the fork out and in, and "
        "the wheel must turn freely."
    ),
}
_MAY = {
    "throttle_pull": "engine speed may rise",
    "throttle_single": "engine speed may rise",
    "throttle_return": "the throttle may bind",
    "clutch_cable": "the clutch may slip",
    "front_brake_cable": "the brake may come on by itself",
    "choke_cable": "the choke may come on by itself",
}


def play_remarks(line: str, kind: str, play: FreePlay, setup: Setup, unit: str) -> list[Remark]:
    """Free play that is left, and how much it changes between the locks."""
    return [_kept(line, kind, play, setup, unit), _change(line, play, unit)]


def _kept(line: str, kind: str, play: FreePlay, setup: Setup, unit: str) -> Remark:
    sentence = hint = ""
    if play.kept.grade in (Grade.CAUTION, Grade.REJECT):
        sentence, hint = _told(line, kind, play, setup, unit)
    return Remark(
        key="cable_free_play",
        topic=Topic.CABLE,
        about=line,
        term="Free play left",
        judged=play.kept,
        quantity=Quantity.LENGTH,
        sentence=sentence,
        hint=hint,
        line=True,
    )


def _told(line: str, kind: str, play: FreePlay, setup: Setup, unit: str) -> tuple[str, str]:
    """Sentence and hint. A conduit that is tight needs length; no adjuster cures that."""
    name, may = capital(line), _MAY[kind]
    tight = [stop.turn for stop in (play.stops.right, play.stops.left) if stop]
    tight_at = "is too short" if 0.0 in tight else f"goes tight at {_turns(tight)}"
    hint = "" if tight else _set_it(play, unit)
    fork = travel_words(play.kept.travel or 0.0, setup.machine)
    if play.used:
        used = [turn for turn in (play.used_right, play.used_left) if turn is not None]
        if not play.used_riding:
            where, there = fork, "then"
        elif 0.0 in used:
            where, there = "even straight ahead", "at every turn"
        else:
            where, there = f"beyond {_turns(used)}", "there"
        first = f" {tight_at} and" if tight and play.used_riding else ""
        return f"{name}{first} has no free play left {where}: {may} {there}.", hint
    if tight:
        return f"{name} {tight_at} and pulls at its seats: {may} from there on.", hint
    left = quantity_text(play.kept.value, Quantity.LENGTH, unit)
    where = ", ".join(filter(None, (at_turn(play.kept.turn or 0.0, setup.machine), fork)))
    return f"{name} keeps no more than {left} of free play {where}: {may}.", hint


def _turns(turns: list[float]) -> str:
    """Turns in words: "12.3° right and 20.1° left"; "" for none."""
    return listed([turn_words(turn, 1) for turn in turns]) if turns else ""


def _set_it(play: FreePlay, unit: str) -> str:
    low, high = (quantity_text(mm, Quantity.LENGTH, unit) for mm in play.usual)
    return f"Set it so that {low} to {high} are left at either lock."


def _change(line: str, play: FreePlay, unit: str) -> Remark:
    sentence = ""
    if play.change.grade is Grade.CAUTION and play.kept.grade is Grade.FINE:
        change, most = (
            quantity_text(mm, Quantity.LENGTH, unit)
            for mm in (play.change.value, play.change.limit)
        )
        sentence = (
            f"Free play of the {line} changes by {change} as the bar turns; common practice allows "
            f"{most}."
        )
    return Remark(
        key="cable_free_play_change",
        topic=Topic.CABLE,
        about=line,
        term="Free play changes by",
        judged=play.change,
        quantity=Quantity.LENGTH,
        sentence=sentence,
        line=True,
    )
