"""The edits of one document, to be undone and redone."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from barfit.model import Setup


@dataclass(frozen=True)
class Step:
    """One place in the history: a setup and the name of the edit that led to it."""

    setup: Setup
    name: str


class History:
    """A list of steps, of which one is where the document now stands. There is always one."""

    def __init__(self, steps: Sequence[Step]) -> None:
        """Stands at the last of the steps; raises ValueError where there is none."""
        if not steps:
            raise ValueError("a history starts with a step")
        self._steps = list(steps)
        self._at = len(steps) - 1
        self._joins: Hashable = None  # what edits of the step under way are known by
        self._before = 0  # where that step began

    @property
    def now(self) -> Step:
        """Where the document stands."""
        return self._steps[self._at]

    @property
    def undo_name(self) -> str | None:
        """The name of the edit that ``undo`` takes back; None when there is none."""
        return self.now.name if self._at > 0 else None

    @property
    def redo_name(self) -> str | None:
        """The name of the edit that ``redo`` makes again; None when there is none."""
        after = self._steps[self._at + 1 : self._at + 2]
        return after[0].name if after else None

    def add(self, step: Step) -> None:
        """Go on to a step of its own; what was undone is gone for good."""
        self.settle()
        self._steps[self._at + 1 :] = [step]
        self._at += 1

    def join(self, step: Step, joins: Hashable) -> None:
        """Go on to a step, as one with those before it that came with the same ``joins``.

        Where it leads back to the setup before them, they are taken away.
        """
        if joins != self._joins:
            self._joins, self._before = joins, self._at
        back = step.setup == self._steps[self._before].setup
        self._steps[self._before + 1 :] = [] if back else [step]
        self._at = len(self._steps) - 1

    def settle(self) -> None:
        """End the step that others were joined to."""
        self._joins = None

    def undo(self) -> bool:
        """Go back by a step; whether there was one."""
        return self._go(-1)

    def redo(self) -> bool:
        """Go on by a step that was undone; whether there was one."""
        return self._go(1)

    def _go(self, by: int) -> bool:
        self.settle()
        if not 0 <= self._at + by < len(self._steps):
            return False
        self._at += by
        return True
