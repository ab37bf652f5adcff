"""Answers that are worked out once, whichever thread asks first."""

import time
from concurrent.futures import ThreadPoolExecutor

import pytest

from barfit.analysis.once import Once


def test_two_threads_that_ask_for_the_same_are_answered_once() -> None:
    made = []
    known: Once[str, int] = Once()

    def slowly() -> int:
        time.sleep(0.05)  # so that the other asks meanwhile
        made.append(1)
        return 7

    with ThreadPoolExecutor(2) as threads:
        assert list(threads.map(lambda _: known.of("margin", slowly), range(4))) == [7] * 4
    assert len(made) == 1
    assert known.of("slack", lambda: 8) == 8


def test_what_could_not_be_worked_out_is_told_to_all_who_ask() -> None:
    known: Once[str, int] = Once()

    def never() -> int:
        raise ValueError("cannot be laid out")

    for _ in range(2):
        with pytest.raises(ValueError, match="cannot be laid out"):
            known.of("margin", never)
    with pytest.raises(ValueError, match="cannot be laid out"):
        known.of("margin", lambda: 7)
