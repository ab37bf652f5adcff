"""What makes a setup impossible to turn, found before anything is solved."""

from __future__ import annotations

from barfit.analysis.spans import span_cases
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import LayoutError, layout
from barfit.model import Hold, Role, Setup

_DEEP = 5.0  # mm inside: more than a coordinate is rounded by
# what a plug or a fitting can truly be inside of: a shell
_SHELLS = (Role.HEADLAMP, Role.FAIRING, Role.INSTRUMENT, Role.OTHER, Role.SEAT)


def problems(setup: Setup) -> list[str]:
    """Every reason, as a sentence, why the setup cannot be laid out with its stock or new bars."""
    found: list[str] = []
    for stock in (True, False):
        try:
            span_cases(setup, stock, contact=False)
        except LayoutError as error:
            found += [problem for problem in error.problems if problem not in found]
        except ValueError as error:
            sentence = f"{str(error)[:1].upper()}{str(error)[1:]}."
            if sentence not in found:
                found.append(sentence)
    return found


def doubts(setup: Setup, stock: bool) -> list[str]:
    """Sentences on places that can hardly be meant: fittings, clips and guides inside a solid.

    Straight ahead at ride height, with these bars; a plug inside a shell is left alone. Raises
    LayoutError.
    """
    found = []
    for name, places in layout(setup, setup.bars(stock)).items():
        for solid in setup.machine.solids:
            depth = -shape_distance(solid.shape, places.points)
            for station, hold, deep in zip(places.names, places.holds, depth, strict=True):
                plugged = hold is Hold.FITTING and solid.role in _SHELLS
                if deep > _DEEP and not plugged:
                    found.append(
                        f"Station '{station}' of the {name} is {deep:.0f} mm inside the "
                        f"{solid.name}: check its position in the file."
                    )
    return found
