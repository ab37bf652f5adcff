"""What things are coloured: quiet paints for the machine, diverging scales for the lines.

The machine stays grey and dull so that the lines carry the colour. The scales run from a warm
end (trouble) over a pale neutral to a cool end (to spare): orange against blue stays apart under
every common kind of colour-blindness, and the two ends differ from the middle in lightness too.
A scale is fixed: it knows nothing of the sweep it is used on, so motion never re-colours.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from barfit.model import Body
from barfit.units import format_length


class Paint(StrEnum):
    """What a surface looks like."""

    CHROME = "chrome"
    STEEL = "steel"
    ALLOY = "alloy"
    BLACK = "black"
    BODY = "body"
    SHADOW = "shadow"
    RUBBER = "rubber"
    TYRE = "tyre"
    SEAT = "seat"
    LENS = "lens"
    GLASS = "glass"
    FAIRING = "fairing"


@dataclass(frozen=True)
class Finish:
    """How a paint answers light: colour, and the strength and tightness of its shine."""

    colour: str
    specular: float = 0.1
    power: float = 12.0
    ambient: float = 0.06
    diffuse: float = 0.92
    opacity: float = 1.0


@dataclass(frozen=True)
class Theme:
    """The colours of one appearance."""

    name: str
    top: str
    bottom: str
    ground: str
    shadow: str
    text: str
    quiet: str
    label: str
    outline: str
    unknown: str
    ghost: str
    untouched: str  # a line where other bars do not reach it
    handle: str  # what can be taken hold of, and what the pointer is on
    handle_hot: str
    finishes: dict[Paint, Finish]


_LIGHT_PAINTS = {
    Paint.CHROME: Finish("#ffffff", 0.55, 30.0, 0.42, 0.56),
    Paint.STEEL: Finish("#a7adb2", 0.45, 24.0),
    Paint.ALLOY: Finish("#b9bec2", 0.25, 14.0),
    Paint.BLACK: Finish("#3f4448", 0.30, 20.0),
    Paint.BODY: Finish("#8d9a97", 0.45, 38.0),
    Paint.SHADOW: Finish("#6c7277", 0.12, 10.0),
    Paint.RUBBER: Finish("#2e3134", 0.12, 8.0),
    Paint.TYRE: Finish("#3a3d40", 0.08, 6.0),
    Paint.SEAT: Finish("#4a4644", 0.10, 8.0),
    Paint.LENS: Finish("#f3f1e4", 0.8, 50.0, 0.30, 0.70),
    Paint.GLASS: Finish("#20262b", 0.8, 50.0),
    Paint.FAIRING: Finish("#8d9a97", 0.5, 38.0, opacity=0.42),
}

_DARK_PAINTS = {
    **_LIGHT_PAINTS,
    Paint.CHROME: Finish("#ffffff", 0.55, 30.0, 0.34, 0.52),
    Paint.STEEL: Finish("#8f969b", 0.45, 24.0),
    Paint.ALLOY: Finish("#989ea3", 0.25, 14.0),
    Paint.BLACK: Finish("#4a5055", 0.35, 20.0),
    Paint.BODY: Finish("#72807d", 0.45, 38.0),
    Paint.SHADOW: Finish("#5d6469", 0.12, 10.0),
    Paint.RUBBER: Finish("#3b3f43", 0.15, 8.0),
    Paint.TYRE: Finish("#43474b", 0.10, 6.0),
    Paint.SEAT: Finish("#544f4c", 0.10, 8.0),
    Paint.FAIRING: Finish("#80908c", 0.5, 38.0, opacity=0.38),
}

THEMES = {
    "light": Theme(
        name="light",
        top="#fafbfb",
        bottom="#d5dadd",
        ground="#b4bbc0",
        shadow="#4d565c",
        text="#1d2226",
        quiet="#59636a",
        label="#ffffff",
        outline="#23282c",
        unknown="#8a9094",
        ghost="#4d6271",
        untouched="#c9cfd3",
        handle="#1b6b58",
        handle_hot="#0fae86",
        finishes=_LIGHT_PAINTS,
    ),
    "dark": Theme(
        name="dark",
        top="#2b3034",
        bottom="#16191b",
        ground="#41484d",
        shadow="#050607",
        text="#e9ecee",
        quiet="#a3adb3",
        label="#23282c",
        outline="#0c0e0f",
        unknown="#8a9094",
        ghost="#b5c6d2",
        untouched="#474e53",
        handle="#4fb896",
        handle_hot="#a8f0d6",
        finishes=_DARK_PAINTS,
    ),
}

# Three hues that stay apart under the common kinds of colour-blindness, and are none of those that
# lines are coloured with.
BODY_COLOURS = {Body.FRAME: "#1f9a8c", Body.STEERING: "#8040c0", Body.LOWER_FORK: "#c9a800"}

TROUBLE = "#d2451f"
CAUTION = "#c77a12"
NOTE = "#6b7c86"


class Colour(StrEnum):
    """What the colour of a line says."""

    SLACK = "slack"
    BEND = "bend"
    PULL = "pull"


def rgb(colour: str) -> np.ndarray:
    """The red, green and blue (3,) of "#rrggbb", each 0..255."""
    return np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)], dtype=float)


@dataclass(frozen=True)
class Scale:
    """A fixed scale of colour: ``stops`` are (value, colour), values ascending.

    ``place`` maps values to where they stand along the scale: the values themselves, or their
    logarithms. ``text`` words a tick in the user's unit. ``ticks`` are the values named in the
    legend, by unit.
    """

    title: str
    low_word: str
    high_word: str
    stops: tuple[tuple[float, str], ...]
    ticks: dict[str, tuple[float, ...]]
    text: Callable[[float, str], str]
    place: Callable[[np.ndarray], np.ndarray]

    def colours(self, values: np.ndarray, unknown: str) -> np.ndarray:
        """Colours (..., 3), 0..255, of ``values`` (...); ``unknown`` where they are NaN."""
        at = self.place(np.array([value for value, _ in self.stops]))
        table = np.array([rgb(colour) for _, colour in self.stops])
        known = ~np.isnan(values)
        where = self.place(np.where(known, values, self.stops[0][0]))
        out = np.stack([np.interp(where, at, table[:, c]) for c in range(3)], axis=-1)
        return np.where(known[..., None], out, rgb(unknown))

    def fraction(self, value: float) -> float:
        """Where ``value`` stands along the scale, 0 at its low end to 1 at its high end."""
        low, at, high = self.place(np.array([self.stops[0][0], value, self.stops[-1][0]]))
        return float((at - low) / (high - low))


@dataclass(frozen=True)
class Legend:
    """A scale as it is drawn.

    ``strip`` are its colours from low to high (red, green, blue, 0..255); ``ticks`` are the
    places along it, 0..1, that are named.
    """

    title: str
    low_word: str
    high_word: str
    strip: tuple[tuple[float, float, float], ...]
    ticks: tuple[tuple[float, str], ...]


@lru_cache
def legend(mode: Colour, unit: str) -> Legend:
    """The legend of a colour mode in the user's unit, "mm" or "in"."""
    scale = SCALES[mode]
    low, high = scale.place(np.array([scale.stops[0][0], scale.stops[-1][0]]))
    at = np.array([value for value, _ in scale.stops])
    values = np.interp(np.linspace(low, high, 128), scale.place(at), at)
    return Legend(
        title=scale.title.format(unit=unit),
        low_word=scale.low_word,
        high_word=scale.high_word,
        strip=tuple(map(tuple, scale.colours(values, "#000000").tolist())),
        ticks=tuple((scale.fraction(t), scale.text(t, unit)) for t in scale.ticks[unit]),
    )


def _itself(values: np.ndarray) -> np.ndarray:
    return values


def _logarithm(values: np.ndarray) -> np.ndarray:
    return np.log2(np.maximum(values, 1e-3))


_WARM_3, _WARM_2, _WARM_1 = "#a31f08", "#d2431d", "#f0893a"
_PALE_WARM, _NEUTRAL, _PALE_COOL = "#f5cf93", "#f3f1ea", "#a9cbe8"
_COOL_2, _COOL_3 = "#5b9bd8", "#2463b4"

SCALES = {
    # Nothing to spare is orange; what most lines should keep at worst, about 25 mm, is neutral.
    Colour.SLACK: Scale(
        title="Slack, {unit}",
        low_word="stretched",
        high_word="spare",
        stops=(
            (-60.0, _WARM_3),
            (-25.0, _WARM_2),
            (0.0, _WARM_1),
            (12.0, _PALE_WARM),
            (25.0, _NEUTRAL),
            (45.0, _PALE_COOL),
            (75.0, _COOL_2),
            (110.0, _COOL_3),
        ),
        ticks={
            "mm": (-50.0, 0.0, 25.0, 50.0, 100.0),
            "in": (-50.8, 0.0, 25.4, 50.8, 101.6),
        },
        text=lambda value, unit: format_length(value, unit, with_unit=False),
        place=_itself,
    ),
    # Radius over the least radius the line allows.
    Colour.BEND: Scale(
        title="Bend radius, times the least allowed",
        low_word="too tight",
        high_word="gentle",
        stops=(
            (0.5, _WARM_3),
            (0.8, _WARM_2),
            (1.0, _WARM_1),
            (1.2, _PALE_WARM),
            (1.5, _NEUTRAL),
            (2.5, _PALE_COOL),
            (5.0, _COOL_2),
            (8.0, _COOL_3),
        ),
        ticks=dict.fromkeys(("mm", "in"), (0.5, 1.0, 2.0, 4.0, 8.0)),
        text=lambda value, unit: f"{value:g}×",
        place=_logarithm,
    ),
    # One-sided: a line that hangs slack pulls by little more than its own weight.
    Colour.PULL: Scale(
        title="Pull, N",
        low_word="loose",
        high_word="pulling",
        stops=(
            (0.0, _NEUTRAL),
            (5.0, _PALE_WARM),
            (15.0, _WARM_1),
            (35.0, _WARM_2),
            (60.0, _WARM_3),
        ),
        ticks=dict.fromkeys(("mm", "in"), (0.0, 20.0, 40.0, 60.0)),
        text=lambda value, unit: f"{value:g}",
        place=_itself,
    ),
}
