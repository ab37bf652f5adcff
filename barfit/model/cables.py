"""The wire that slides in a control cable's conduit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Lining(StrEnum):
    """What the wire slides on."""

    PTFE = "PTFE-lined"
    NYLON = "nylon-lined"
    OILED = "unlined and oiled"
    DRY = "unlined and dry"


@dataclass(frozen=True)
class Cable:
    """What is known of the inside of a control cable; None is what is usual for its kind.

    ``wire`` is the wire's diameter, ``bore`` the conduit's inside, mm. ``free_play``, mm of wire at
    the lever or grip, is what is set straight ahead. ``pull``, N, works the wire there with the
    stock bars.
    """

    wire: float | None = None
    bore: float | None = None
    lining: Lining | None = None
    free_play: float | None = None
    pull: float | None = None
