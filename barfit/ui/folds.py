"""Which sections of a side panel are open: as the user left them, otherwise those that say most."""

from __future__ import annotations

from collections.abc import Iterable

from barfit.report.facts import Section

_OPEN, _SHUT = "+", "-"


class Folds:
    """What the user opened and shut, by a section's heading.

    A section that needs minding is remembered apart from the same one when it does not: who shuts
    what is fine still sees it when it is not.
    """

    def __init__(self) -> None:
        self._chosen: dict[str, bool] = {}

    def is_open(self, section: Section) -> bool:
        """Whether to show its facts. Left alone, one of which every figure is fine and nothing
        more is said is shut.
        """
        fine = bool(section.grades) and not (section.grave or section.notes)
        return self._chosen.get(_key(section), not fine)

    def choose(self, section: Section, is_open: bool) -> None:
        """Keep that the user opened or shut it."""
        self._chosen[_key(section)] = is_open

    def words(self) -> list[str]:
        """All that is remembered, to be kept in a file."""
        return [f"{_OPEN if is_open else _SHUT}{key}" for key, is_open in self._chosen.items()]

    def restore(self, words: Iterable[str]) -> None:
        """Take in what was kept; what cannot be read counts for nothing."""
        self._chosen = {
            word[1:]: word[0] == _OPEN for word in words if len(word) > 1 and word[0] in "+-"
        }


def _key(section: Section) -> str:
    return f"{section.heading}{' !' if section.grave else ''}"
