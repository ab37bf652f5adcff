"""The scales: what is warm, what is cool, and that nobody needs to tell red from green."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from barfit.scene.colours import SCALES, THEMES, Colour, Paint, legend, rgb

# Machado, Oliveira, Fernandes, "A physiologically-based model for simulation of color vision
# deficiency", IEEE Trans. Vis. Comput. Graph. 15 (2009) 6, severity 1.0; for linear RGB.
DEFICIENCY = {
    "protanopia": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
    "none": np.eye(3).tolist(),
}


def lab(colour: np.ndarray, kind: str) -> np.ndarray:
    """CIELAB (D65, IEC 61966-2-1 primaries) of an sRGB colour 0..255 as such an eye sees it."""
    c = colour / 255.0
    linear = np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)
    linear = np.clip(np.array(DEFICIENCY[kind]) @ linear, 0.0, 1.0)
    to_xyz = np.array(
        [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    )
    f = np.cbrt(np.maximum(to_xyz @ linear / np.array([0.9505, 1.0, 1.089]), 0.008856))
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


def colour(mode: Colour, value: float) -> np.ndarray:
    return SCALES[mode].colours(np.array([value]), "#808080")[0]


def test_stretch_is_warm_slack_is_cool_and_the_right_amount_neutral():
    for value in (-60.0, -10.0, 0.0):
        red, _, blue = colour(Colour.SLACK, value)
        assert red > blue + 90.0
    for value in (60.0, 110.0):
        red, _, blue = colour(Colour.SLACK, value)
        assert blue > red + 90.0
    assert np.ptp(colour(Colour.SLACK, 25.0)) < 12.0


@pytest.mark.parametrize("kind", DEFICIENCY)
@pytest.mark.parametrize(
    ("mode", "steps"),
    [
        (Colour.SLACK, (-40.0, 0.0, 25.0, 60.0, 105.0)),
        (Colour.BEND, (0.6, 1.0, 1.5, 3.0, 7.0)),
        (Colour.PULL, (0.0, 8.0, 20.0, 55.0)),
    ],
)
def test_steps_of_a_scale_stay_apart_for_every_eye(mode: Colour, kind: str, steps: tuple):
    seen = [lab(colour(mode, value), kind) for value in steps]
    for a, b in itertools.combinations(seen, 2):
        assert np.linalg.norm(a - b) > 14.0  # a difference of 2 is just noticeable


@pytest.mark.parametrize("mode", Colour)
def test_a_scale_stops_at_its_ends_and_says_when_it_does_not_know(mode: Colour):
    scale = SCALES[mode]
    low, high = scale.stops[0], scale.stops[-1]
    assert np.allclose(colour(mode, low[0] - 5.0), rgb(low[1]))
    assert np.allclose(colour(mode, high[0] + 1000.0), rgb(high[1]))
    assert np.allclose(colour(mode, np.nan), rgb("#808080"))
    assert [v for v, _ in scale.stops] == sorted(v for v, _ in scale.stops)


def test_the_legend_is_in_the_users_unit():
    metric, inch = legend(Colour.SLACK, "mm"), legend(Colour.SLACK, "in")
    assert metric.title == "Slack, mm"
    assert [text for _, text in metric.ticks] == ["-50", "0", "25", "50", "100"]
    assert inch.title == "Slack, in"
    assert [text for _, text in inch.ticks] == ["-2", "0", "1", "2", "4"]
    assert (metric.low_word, metric.high_word) == ("stretched", "spare")


@pytest.mark.parametrize("mode", Colour)
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_a_tick_stands_where_its_colour_is(mode: Colour, unit: str):
    shown = legend(mode, unit)
    strip = np.array(shown.strip)
    for (at, _), value in zip(shown.ticks, SCALES[mode].ticks[unit], strict=True):
        assert 0.0 <= at <= 1.0
        here = strip[round(at * (len(strip) - 1))]
        assert np.allclose(here, colour(mode, value), atol=6.0)


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
def test_a_theme_has_every_paint_and_words_that_can_be_read(theme):
    assert set(theme.finishes) == set(Paint)
    for words, paper in ((theme.text, theme.label), (theme.quiet, theme.label)):
        bright = [lab(rgb(c), "none")[0] for c in (words, paper)]
        assert abs(bright[0] - bright[1]) > 45.0
