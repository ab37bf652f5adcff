"""What a machine has not, lent by another: with the stock bars it fits, as on any stock machine.

Every exchange there is, on every bundled machine: nothing lent lacks length, bends too tightly,
stops the steering, or lies in the wheel, the fork or another part, and what was there before is
judged as it was.
"""

from __future__ import annotations

import math
from dataclasses import replace
from enum import StrEnum

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import LineFinding, LineSweep, Sweep, Verdict, findings, sweep
from barfit.catalogue import scenario_dir
from barfit.geometry.parts import shape_distance
from barfit.geometry.pose import motions, travels
from barfit.model import EXACT, Body, How, Role, Setup
from barfit.starting import (
    Brake,
    Clutch,
    Throttle,
    Wiring,
    begin,
    begin_to_fit,
    candidates,
    fresh_start,
    traits_of,
)
from barfit.starting.modulator import tyre_gap

STEMS = ("tall-bar-cruiser", "hidden-wires", "touring-hydraulic", "naked-standard", "old-twin")
MACHINES = {stem: scenario.load(scenario_dir() / f"{stem}.toml") for stem in STEMS}
TRAITS: dict[str, type[StrEnum]] = {
    "throttle": Throttle,
    "clutch": Clutch,
    "brake": Brake,
    "wiring": Wiring,
}
OTHERS = [
    (stem, trait, value)
    for stem, own in MACHINES.items()
    for trait, values in TRAITS.items()
    for value in values
    if value is not getattr(traits_of(own), trait)
]
# Where another machine's holes do not suit these bars: bends that no length opens.
TIGHT = {
    ("old-twin", "wiring", Wiring.INSIDE): "take a hole that faces another way",
    ("touring-hydraulic", "wiring", Wiring.INSIDE): "take a hole that faces another way",
}
# where a hose rubs, which is said beside its margin, a guide is yet to be put: that is the user's
FITS = (Verdict.REACHES, Verdict.RUBS)
MARGIN = 4.0  # mm beyond the least slack: the bundled machines' own hoses have that
STEP = math.radians(4.0)

_stock: dict[str, tuple[Sweep, dict[str, LineFinding]]] = {}


def begun(stem: str, **wanted: StrEnum) -> tuple[Setup, set[str]]:
    """The machine with those traits, as the window begins it; the names of the lines lent."""
    own = MACHINES[stem]
    asked = replace(traits_of(own), **wanted)
    near = [one.setup for one in candidates(asked, MACHINES.values())]
    _, exchanges = begin(own, "Mine", asked, near)
    assert {one.trait for one in exchanges} == set(wanted)
    lent = {line for one in exchanges if one.donor for line in one.came}
    return begin_to_fit(own, "Mine", asked, near), lent


def judged(setup: Setup) -> tuple[Sweep, dict[str, LineFinding]]:
    """All lines with the stock bars, every number taken as exact, or all would be uncertain."""
    turned = sweep(replace(setup, uncertainty=EXACT), stock=True, step=STEP)
    return turned, {one.line: one for one in findings(turned, windows=False)}


def stock(stem: str) -> tuple[Sweep, dict[str, LineFinding]]:
    """The machine as it is, with its stock bars, not measured either."""
    if stem not in _stock:
        _stock[stem] = judged(fresh_start(MACHINES[stem], "Mine"))
    return _stock[stem]


def points_on(turned: Sweep, line: LineSweep, body: Body) -> np.ndarray:
    """The centreline (T, A, M, 3) at all poses as seen from a body; also where it does not move
    with the fork, which the wheel does.
    """
    machine = turned.setup.machine
    slides = travels(machine)
    shapes = np.broadcast_to(line.shapes, (len(slides), len(turned.angles), *line.shapes.shape[2:]))
    turns, shifts = motions(machine, body, turned.angles, slides)
    return np.einsum("taji,tamj->tami", turns, shapes - shifts[:, :, None, :])


def in_wheel(turned: Sweep, line: LineSweep) -> float:
    """How near the surface of a line comes to the wheel: a rim as wide as the tyre, whose section
    is round from its widest to the tread.
    """
    machine = turned.setup.machine
    cos, sin = math.cos(machine.rake), math.sin(machine.rake)
    axle = np.array(
        [
            cos * machine.fork_offset + sin * machine.fork_length,
            0.0,
            sin * machine.fork_offset - cos * machine.fork_length,
        ]
    )
    off = points_on(turned, line, Body.LOWER_FORK) - axle
    half = 0.5 * machine.wheel_width
    beyond = np.maximum(np.hypot(off[..., 0], off[..., 2]) - (machine.wheel_radius - half), 0.0)
    away = np.hypot(beyond, off[..., 1]) - half
    return float(away.min()) - 0.5 * turned.setup.line(line.name).diameter


def own_room(stem: str, trait: str) -> float:
    """How near to the wheel the machine's own lines come that are exchanged: a clutch hose goes by
    the guides of the cable it stands for.
    """
    turned = stock(stem)[0]
    own = MACHINES[stem]
    kinds = {"clutch": ("clutch_cable", "clutch_hose")}.get(trait, ())
    return min(
        (in_wheel(turned, turned.line(one.name)) for one in own.lines if one.kind in kinds),
        default=math.inf,
    )


def check_lent(
    setup: Setup,
    turned: Sweep,
    found: dict[str, LineFinding],
    lent: set[str],
    wheel: float = math.inf,
) -> None:
    for name in lent:
        one, line = found[name], turned.line(name)
        assert one.verdict in FITS, (name, one.verdict, one.why)
        assert one.margin >= MARGIN, name
        assert one.slack > one.least - 0.5, name
        assert (one.stops.right, one.stops.left) == (None, None), name
        assert line.converged.all()
        assert in_wheel(turned, line) > min(5.0, wheel - 2.0), name
        assert setup.line(name).measured is How.NOT_MEASURED
        radius = 0.5 * setup.line(name).diameter
        for solid in setup.machine.solids:
            near = shape_distance(solid.shape, points_on(turned, line, solid.body).reshape(-1, 3))
            # a plug or union sits in what it is screwed into; where a line touches, it does lightly
            if solid.role is not Role.MODULATOR:
                assert near.min() - radius > -2.0, f"{name} in {solid.name}"


@pytest.mark.parametrize(("stem", "trait", "value"), OTHERS)
def test_what_is_lent_fits_with_the_stock_bars(stem: str, trait: str, value: StrEnum) -> None:
    setup, lent = begun(stem, **{trait: value})
    turned, found = judged(setup)
    wheel = own_room(stem, trait)
    tight = TIGHT.get((stem, trait, value), "")
    if tight:  # said, not hidden: there is no length, and what to change is named
        bent = {one for one in lent if found[one].verdict not in FITS}
        for name in bent:
            assert found[name].verdict is Verdict.BEND_TOO_TIGHT
            assert tight in found[name].why
        check_lent(setup, turned, found, lent - bent, wheel)
    else:
        check_lent(setup, turned, found, lent, wheel)
    for name, was in stock(stem)[1].items():
        if name in found and name not in lent:
            assert found[name].verdict is was.verdict, name


@pytest.mark.parametrize("stem", STEMS)
def test_a_modulator_stands_clear_of_all_else(stem: str) -> None:
    """Of tank, engine and frame at its corners and edges, and of the tyre wherever that comes."""
    setup, _ = begun(stem, brake=Brake.MODULATOR) if "touring" not in stem else (MACHINES[stem], 0)
    (box,) = (one.shape for one in setup.machine.solids if one.role is Role.MODULATOR)
    half = 0.5 * np.array(box.size)
    sides = np.linspace(-1.0, 1.0, 9)
    grid = np.stack(np.meshgrid(sides, sides, sides), axis=-1).reshape(-1, 3)
    surface = np.array(box.centre) + grid[np.abs(grid).max(axis=1) == 1.0] * half
    for solid in setup.machine.solids:
        if solid.body is Body.FRAME and solid.role is not Role.MODULATOR:
            assert shape_distance(solid.shape, surface).min() > 0.0, solid.name
    assert tyre_gap(setup.machine, surface) > 10.0


@pytest.mark.parametrize(
    ("stem", "brake", "clutch"),
    [
        ("naked-standard", Brake.MODULATOR, Clutch.HYDRAULIC),
        ("old-twin", Brake.SPLITTER, Clutch.HYDRAULIC),
        ("tall-bar-cruiser", Brake.MODULATOR, Clutch.HYDRAULIC),
        ("touring-hydraulic", Brake.SPLITTER, Clutch.NONE),
    ],
)
def test_two_exchanges_fit_together(stem: str, brake: Brake, clutch: Clutch) -> None:
    setup, lent = begun(stem, brake=brake, clutch=clutch)
    check_lent(setup, *judged(setup), lent, own_room(stem, "clutch"))
