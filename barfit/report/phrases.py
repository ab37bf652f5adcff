"""Poses and lists in words, as parts of sentences."""

from __future__ import annotations

import math

from barfit.model import Machine
from barfit.units import format_angle


def turn_words(turn: float, decimals: int = 0) -> str:
    """A turn angle in words: "24° left", "40.3° right", "straight ahead"."""
    degrees = format_angle(abs(turn), decimals)
    if not degrees.strip("0.°"):
        return "straight ahead"
    return f"{degrees} {'left' if turn > 0 else 'right'}"


def at_turn(turn: float, machine: Machine | None) -> str:
    """A turn angle as part of a sentence: "at 24° left", "at full left lock", "straight ahead"."""
    if machine is not None:
        lock = machine.lock_left if turn > 0 else machine.lock_right
        if math.isclose(abs(turn), lock, abs_tol=1e-6):
            return f"at full {'left' if turn > 0 else 'right'} lock"
    words = turn_words(turn)
    return words if words == "straight ahead" else f"at {words}"


def travel_words(travel: float, machine: Machine | None = None) -> str:
    """A suspension position in words; "" at ride height. With the ``machine`` one between ride
    height and the end of the travel is told apart.
    """
    if abs(travel) < 0.5:
        return ""
    part = machine is not None and -machine.sag + 0.5 < travel < machine.travel - machine.sag - 0.5
    return f"with the fork {'partly ' if part else ''}{'compressed' if travel > 0 else 'extended'}"


def capital(name: str) -> str:
    """A name as it begins a sentence."""
    return name[:1].upper() + name[1:]


def within(words: str) -> str:
    """Words as they go on within a sentence."""
    return words[:1].lower() + words[1:]


def listed(words: list[str]) -> str:
    """Words in a row: "a", "a and b", "a, b and c"."""
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
