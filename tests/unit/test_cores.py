"""Rods shared between cores: every one is solved once, and comes out the same to the last digit."""

from __future__ import annotations

import numpy as np
import pytest

from barfit import scenario
from barfit.analysis import sweep
from barfit.catalogue import scenario_dir
from barfit.mechanics import cores


@pytest.mark.parametrize("size", [1, 2, 15, 16, 17, 400])
def test_every_row_is_worked_on_once(size: int) -> None:
    count = np.zeros(size, int)

    def work(part: slice) -> None:
        count[part] += 1

    cores.shared(work, size, least=2)
    assert (count == 1).all()


@pytest.mark.parametrize("bad", [0, 31])
def test_what_goes_wrong_in_either_half_is_raised(
    bad: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cores, "_cores", lambda: 2)

    def work(part: slice) -> None:
        if bad in range(part.start, part.stop):
            raise ZeroDivisionError(bad)

    with pytest.raises(ZeroDivisionError):
        cores.shared(work, 32)


def test_one_core_and_two_give_the_same_numbers(monkeypatch: pytest.MonkeyPatch) -> None:
    setup = scenario.load(scenario_dir() / "old-twin.toml")
    found = []
    for count in (1, 2):
        monkeypatch.setattr(cores, "_cores", lambda count=count: count)
        monkeypatch.setattr(cores, "_WORTH_IT", 2)
        found.append(sweep(setup, step=0.2))
    alone, shared = found
    for one, other in zip(alone.lines, shared.lines, strict=True):
        np.testing.assert_array_equal(one.shapes, other.shapes)
        np.testing.assert_array_equal(one.taut, other.taut)
        np.testing.assert_array_equal(one.tension, other.tension)
