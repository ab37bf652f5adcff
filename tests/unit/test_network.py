"""The critical path: a textbook's network, and a linear programme as an independent computation."""

from __future__ import annotations

import graphlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog

from barfit.workshop.network import in_order, network

# The "General Foundry" project of Render, Stair and Hanna, Quantitative Analysis for Management,
# chapter on project management (from memory): expected times in weeks, predecessors, and their
# answer: 15 weeks, critical path A-C-E-G-H, slack 1 of B and D, 6 of F.
WEEKS = {"A": 2, "B": 3, "C": 2, "D": 4, "E": 4, "F": 3, "G": 5, "H": 2}
BEFORE = {"C": "A", "D": "B", "E": "C", "F": "C", "G": "DE", "H": "FG"}
SLACK = {"A": 0, "B": 1, "C": 0, "D": 1, "E": 0, "F": 6, "G": 0, "H": 0}
STARTS = {"A": (0, 0), "B": (0, 1), "C": (2, 2), "D": (3, 4), "E": (4, 4), "F": (4, 10)}


def test_a_textbook_network_has_the_answer_of_the_book() -> None:
    found = network(WEEKS, BEFORE)
    assert found.length == 15
    assert "".join(found.path) == "ACEGH"
    assert {key: times.total_float for key, times in found.times.items()} == SLACK
    for key, (early, late) in STARTS.items():
        assert (found.times[key].early_start, found.times[key].late_start) == (early, late)
    assert [key for key in WEEKS if found.critical(key)] == list("ACEGH")
    # B may use its week only out of D's; F's six weeks are its own
    assert (found.times["B"].free_float, found.times["D"].free_float) == (0, 1)
    assert found.times["F"].free_float == 6


@st.composite
def networks(draw: st.DrawFn) -> tuple[dict[str, float], dict[str, list[str]]]:
    count = draw(st.integers(1, 12))
    names = [f"t{k}" for k in range(count)]
    durations = {name: draw(st.integers(0, 40)) / 4 for name in names}
    before = {
        name: [names[j] for j in range(k) if draw(st.integers(0, 2)) == 0]
        for k, name in enumerate(names)
    }
    return durations, before


@given(networks())
def test_its_length_and_early_starts_are_those_of_a_linear_programme(
    drawn: tuple[dict[str, float], dict[str, list[str]]],
) -> None:
    """The least starts and the least end, each task not before the end of those before it: a linear
    programme (the dual of the longest path; Fulkerson 1961), solved by scipy.
    """
    durations, before = drawn
    names = list(durations)
    at = {name: k for k, name in enumerate(names)}
    rows, limits = [], []
    for name in names:
        for need in before[name]:
            row = np.zeros(len(names) + 1)
            row[at[need]], row[at[name]] = 1.0, -1.0
            rows.append(row)
            limits.append(-durations[need])
        row = np.zeros(len(names) + 1)
        row[at[name]], row[-1] = 1.0, -1.0
        rows.append(row)
        limits.append(-durations[name])
    solved = linprog(np.ones(len(names) + 1), np.array(rows), np.array(limits))
    found = network(durations, before)
    assert found.length == pytest.approx(solved.x[-1], abs=1e-7)
    starts = [found.times[name].early_start for name in names]
    assert starts == pytest.approx(list(solved.x[:-1]), abs=1e-7)
    path = sum(durations[name] for name in found.path)
    assert path == pytest.approx(found.length)
    assert all(found.critical(name) for name in found.path)


@given(networks(), st.integers(0, 11))
def test_float_is_how_much_a_task_may_slip(
    drawn: tuple[dict[str, float], dict[str, list[str]]], which: int
) -> None:
    durations, before = drawn
    name = list(durations)[which % len(durations)]
    found = network(durations, before)
    spare = found.times[name].total_float
    for more, slips in ((spare, 0.0), (spare + 0.5, 0.5)):
        longer = network({**durations, name: durations[name] + more}, before)
        assert longer.length == pytest.approx(found.length + slips)


def test_tasks_keep_their_order_where_nothing_else_is_asked() -> None:
    assert in_order({"paint": ["wash"], "pay": [], "wash": []}) == ("pay", "wash", "paint")


def test_tasks_that_wait_for_each_other_are_refused() -> None:
    with pytest.raises(graphlib.CycleError):
        network({"a": 1, "b": 1}, {"a": ["b"], "b": ["a"]})


def test_nothing_to_do_takes_no_time() -> None:
    found = network({}, {})
    assert found.length == 0
    assert found.path == ()
