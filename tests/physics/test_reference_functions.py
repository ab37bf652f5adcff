"""The reference functions themselves against published numbers.

They are what the solver is judged by, so they are judged first, by tables computed elsewhere
(see elastica_values.json for the source of each group) and by exact special cases.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from reference_values import cases, names

from barfit.bench import closed_forms
from barfit.bench.dubins import WORDS, dubins_length, path_length

Case = dict[str, Any]


def each(group: str) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("case", cases(group), ids=names(group))


@each("cantilever_end_load")
def test_end_loaded_cantilever(case: Case) -> None:
    got = closed_forms.end_loaded_cantilever(case["inputs"]["PL2_over_EI"])
    expected = case["expected"]
    assert got.drop == pytest.approx(expected["tip_perp_over_L"], rel=1e-6)
    assert got.along == pytest.approx(expected["tip_along_over_L"], rel=1e-6)
    assert got.tip_angle == pytest.approx(expected["tip_angle_rad"], rel=1e-6)
    assert got.root_curvature == pytest.approx(expected["root_curvature_times_L"], rel=1e-6)


@each("heavy_cantilever")
def test_heavy_cantilever(case: Case) -> None:
    got = closed_forms.heavy_cantilever(case["inputs"]["wL3_over_EI"])
    expected = case["expected"]
    assert got.drop == pytest.approx(expected["tip_drop_over_L"], rel=1e-6)
    assert 1 - got.along == pytest.approx(expected["tip_shortening_over_L"], rel=1e-4, abs=1e-9)
    assert got.tip_angle == pytest.approx(expected["tip_angle_rad"], rel=1e-6)
    assert got.root_curvature == pytest.approx(expected["root_curvature_times_L"], rel=1e-6)


def test_greenhill_weight() -> None:
    expected = cases("heavy_column")[0]["expected"]["qL3_over_EI_critical"]
    assert closed_forms.greenhill_weight() == pytest.approx(expected, rel=1e-6)


@each("postbuckled_elastica")
def test_buckled_strut(case: Case) -> None:
    kind = case["name"].split("_")[1]
    angle = next(np.deg2rad(v) for k, v in case["inputs"].items() if k.endswith("_deg"))
    quarters = {"fixedfree": 1, "pinned": 2, "clamped": 4}[kind]
    got = closed_forms.buckled_strut(angle, quarters)
    expected = case["expected"]
    euler = (quarters * np.pi / 2) ** 2
    assert got.load / euler == pytest.approx(expected["P_over_Pcr"], rel=1e-6)
    chord = expected["x_over_l"] if quarters == 1 else expected["chord_over_L"]
    assert got.chord == pytest.approx(chord, rel=1e-6, abs=1e-7)
    if quarters == 1:
        assert got.mid_deflection == pytest.approx(expected["y_over_l"], rel=1e-6)
        assert got.max_curvature == pytest.approx(expected["root_curvature_times_l"], rel=1e-6)
    else:
        deflection = expected["mid_deflection_over_L"]
        assert got.mid_deflection == pytest.approx(deflection, rel=1e-6)
        assert got.max_curvature == pytest.approx(expected["max_curvature_times_L"], rel=1e-6)


@pytest.mark.parametrize(
    ("case", "quarters"),
    [(case, 4) for case in cases("slack_line_clamped")]
    + [(case, 2) for case in cases("slack_line_pinned")],
    ids=names("slack_line_clamped") + names("slack_line_pinned"),
)
def test_slack_strut(case: Case, quarters: int) -> None:
    got = closed_forms.slack_strut(case["inputs"]["chord_over_L"], quarters)
    expected = case["expected"]
    assert got.mid_deflection == pytest.approx(expected["mid_deflection_over_L"], rel=1e-6)
    assert 1 / got.max_curvature == pytest.approx(expected["min_radius_over_L"], rel=1e-6)
    assert got.load == pytest.approx(expected["PL2_over_EI"], rel=1e-6)
    assert got.energy == pytest.approx(expected["bending_energy_L_over_EI"], rel=1e-6)


@each("catenary")
def test_catenary(case: Case) -> None:
    given, expected = case["inputs"], case["expected"]
    span, rise = given.get("span") or given["dx"], given.get("dy", 0.0)
    got = closed_forms.catenary(span, rise, given["length"])
    if rise:
        assert got.parameter == pytest.approx(expected["a"], rel=1e-6)
        assert got.lowest_x == pytest.approx(expected["x_of_lowest"], rel=1e-6)
        assert got.lowest_y == pytest.approx(expected["y_of_lowest_rel_start"], rel=1e-6)
    else:
        assert -got.lowest_y == pytest.approx(expected["sag_over_span"], rel=1e-6)
        assert got.parameter == pytest.approx(expected["H_over_w_span"], rel=1e-6)
        assert got.greatest_force == pytest.approx(expected["Tmax_over_w_span"], rel=1e-6)
    points = closed_forms.catenary_points(span, rise, given["length"], 801)
    assert points[0] == pytest.approx([0, 0], abs=1e-9)
    assert points[-1] == pytest.approx([span, rise], abs=1e-9)
    assert points[:, 1].min() == pytest.approx(got.lowest_y, rel=1e-4)
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    assert steps.sum() == pytest.approx(given["length"], rel=1e-4)


@each("helix_rod_3d")
def test_helix_rod(case: Case) -> None:
    radius, pitch, degrees = (
        float(part[1:] if part[0] in "ab" else part.removesuffix("deg"))
        for part in case["name"].removeprefix("helix_rod_").split("_")
    )
    points = closed_forms.helix_rod(radius, pitch, np.deg2rad(degrees), np.linspace(0, 1, 3))
    assert points[0] == pytest.approx(case["inputs"]["start"], abs=1e-7)
    assert points[1] == pytest.approx(case["expected"]["mid_point"], abs=1e-7)
    assert points[2] == pytest.approx(case["inputs"]["end"], abs=1e-7)


@each("dubins_2d")
def test_dubins(case: Case) -> None:
    def pose(key: str) -> tuple[float, float, float]:
        x, y, degrees = case["inputs"][key]
        return x, y, float(np.deg2rad(degrees))

    start, end, radius = pose("start"), pose("end"), case["inputs"]["min_radius"]
    assert dubins_length(start, end, radius) == pytest.approx(case["expected"]["length"], rel=1e-6)
    for word, length in case["expected"]["all_words"].items():
        assert word in WORDS
        got = path_length(word, start, end, radius)
        if got is None:  # its middle arc vanishes: what is left is another word, and counted there
            assert length == pytest.approx(case["expected"]["length"], rel=1e-6), word
        else:
            assert got == pytest.approx(length, rel=1e-6), word


def test_dubins_two_arc_s() -> None:
    """Where the side step just fits, the path is two arcs that touch and no straight."""
    for case in cases("arcs"):
        if "two_arc" not in case["name"]:
            continue
        offset, radius = case["inputs"]["offset"], case["inputs"]["radius"]
        axial = np.sqrt(4 * radius * offset - offset**2)
        got = dubins_length((0, 0, 0), (axial, offset, 0), radius)
        assert got == pytest.approx(case["expected"]["length"], rel=1e-5)
