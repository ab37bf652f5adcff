"""What a person is told when the program itself is at fault: where, and what to do about it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace

from barfit.analysis import Cancelled
from barfit.model import Setup
from barfit.report.phrases import capital, listed

SEND = (
    "What you entered is not lost: save it under another name, and send that file to whoever "
    "looks after the program for you, with what the terminal says."
)


def fault_sentences(lines: Collection[str] = ()) -> str:
    """That the setup could not be worked out for a fault of the program, in the ``lines`` of those
    names where it lies in them alone, and what to do.
    """
    if not lines:
        return f"The program is at fault: it could not work this setup out. {SEND}"
    names = listed(list(lines))
    them = "it" if len(lines) == 1 else "them"
    return (
        f"{capital(names)}: not known, the program is at fault there. Undo what was last changed "
        f"of {them}; with {them} taken out the other lines are worked out again. {SEND}"
    )


def blamed(setup: Setup, attempt: Callable[[Setup], object]) -> tuple[str, ...]:
    """The lines that ``attempt`` fails on by a defect when they are alone; none where no line does,
    or every one of several, because then it lies elsewhere. Raises Cancelled.
    """
    found = []
    for line in setup.lines:
        try:
            attempt(replace(setup, lines=(line,)))
        except (Cancelled, EOFError, OSError):
            raise
        except ValueError:  # alone it may well be no setup: that is no defect
            continue
        except Exception:  # only which line it is is asked; the defect itself is told already
            found.append(line.name)
    return () if len(found) == len(setup.lines) > 1 else tuple(found)
