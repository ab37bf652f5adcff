from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from sweeps import propose, result, setup

from barfit.analysis import Cancelled
from barfit.model import Setup
from barfit.session import Result
from barfit.ui.background import compute
from barfit.ui.worker import Worker

# What runs in the background process: picked by the title of the setup.


def quick(
    asked: Setup, stock: bool, progress: Callable[[float], None], cancelled: Callable[[], bool]
) -> Result:
    if asked.title == "slow":
        for step in range(3000):
            progress(step / 3000)
            time.sleep(0.01)
            if cancelled():
                raise Cancelled
    if asked.title == "impossible":
        raise ValueError("The bar is too short for its controls.")
    if asked.title == "defect":
        raise RuntimeError("a defect")
    if any(line.note == "defect" for line in asked.lines):
        raise KeyError("in the line")
    if asked.title == "crash":
        os.kill(os.getpid(), signal.SIGKILL)
    progress(0.5)
    return result(asked, stock)


def titled(title: str) -> Setup:
    return replace(setup(), title=title)


@pytest.fixture
def worker(qtbot):
    made = Worker(compute=quick, propose=propose)
    made.results = []
    made.finished.connect(made.results.append)
    made.failures = []
    made.failed.connect(made.failures.append)
    yield made
    made.stop()


def test_both_bars_are_computed_new_first_with_progress(qtbot, worker):
    parts: list[float] = []
    worker.progressed.connect(parts.append)
    asked = titled("a")
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(asked)
    assert [found.sweep.stock for found in worker.results] == [False, True]
    assert all(found.sweep.setup is asked for found in worker.results)
    assert parts == sorted(parts)
    assert parts[0] == 0.0
    assert 0.25 in parts
    assert 0.75 in parts
    assert not worker.busy


def test_the_bars_shown_come_first(qtbot, worker):
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("a"), stock_first=True)
    assert [found.sweep.stock for found in worker.results] == [True, False]


def test_real_arrays_arrive_as_they_were_and_read_only(qtbot):
    asked = setup("old-twin")
    worker = Worker()
    try:
        with qtbot.waitSignal(worker.finished, timeout=60_000) as told:
            worker.submit(asked)
    finally:
        worker.stop()
    here = compute(asked, False, lambda part: None, lambda: False)
    there = told.args[0]
    # as text, for what is not known (nan) equals nothing, not even itself from another process
    assert repr(there.findings) == repr(here.findings)
    for ours, theirs in zip(here.sweep.lines, there.sweep.lines, strict=True):
        for name, value in vars(ours).items():
            if isinstance(value, np.ndarray):
                np.testing.assert_array_equal(value, getattr(theirs, name))
                assert not getattr(theirs, name).flags.writeable, name


def test_the_newest_of_many_requests_wins(qtbot, worker):
    with qtbot.waitSignal(worker.progressed, timeout=20_000):
        worker.submit(titled("slow"))
    began = time.perf_counter()
    for number in range(100):
        worker.submit(titled(str(number)))
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        pass
    assert time.perf_counter() - began < 15  # the slow one alone takes a minute
    assert {found.sweep.setup.title for found in worker.results} == {"99"}
    assert len(worker.results) == 2


def test_a_setup_that_cannot_be_swept_is_told_in_its_own_sentence(qtbot, worker):
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("impossible"))
    assert worker.failures == ["The bar is too short for its controls."]
    assert worker.results == []


def test_a_defect_is_told_and_the_next_request_works(qtbot, worker, capfd):
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("defect"))
    assert "RuntimeError" not in worker.failures[0]  # in the terminal; a person is told what to do
    assert "save it under another name" in worker.failures[0]
    assert "Traceback" in capfd.readouterr().err
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("a"))
    assert len(worker.results) == 2


def test_the_line_that_a_defect_lies_in_is_named(qtbot, worker, capfd):
    """One bad line took the answers of all others away, and nobody was told which."""
    lines = setup().lines
    bad = replace(lines[1], note="defect")
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(replace(setup(), lines=(lines[0], bad, *lines[2:])))
    assert worker.failures[0].startswith(f"{bad.name.capitalize()}: not known, ")
    assert "taken out" in worker.failures[0]
    assert "in the line" in capfd.readouterr().err


def test_a_process_that_dies_is_told_and_replaced(qtbot, worker):
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("crash"))
    assert "broke off" in worker.failures[0]
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("a"))
    assert len(worker.results) == 2


@pytest.mark.parametrize("pause", [0, 200])
def test_a_process_that_dies_unasked_is_replaced_without_a_word(qtbot, worker, pause):
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("a"))
    worker._process.kill()
    worker._process.join()
    qtbot.wait(pause)
    with qtbot.waitSignal(worker.idle, timeout=20_000):
        worker.submit(titled("b"))
    assert worker.failures == []
    assert [found.sweep.setup.title for found in worker.results] == ["a", "a", "b", "b"]


def test_nothing_is_told_after_stop_though_it_lay_in_the_queue(qtbot, worker):
    with qtbot.waitSignal(worker.progressed, timeout=20_000):
        worker.submit(titled("slow"))
    qtbot.wait(500)
    told: list[object] = []
    for event in (worker.progressed, worker.finished, worker.failed):
        event.connect(told.append)
    worker.idle.connect(lambda: told.append("idle"))
    time.sleep(0.1)  # replies pile up, unheard
    began = time.perf_counter()
    worker.stop()
    assert time.perf_counter() - began < 1.0
    qtbot.wait(200)
    assert told == []
    worker.submit(titled("a"))
    qtbot.wait(50)
    assert not worker.busy


def test_stop_before_any_request_is_harmless(worker):
    worker.stop()
    worker.stop()


def test_compute_sweeps_and_judges_with_rising_progress():
    parts: list[float] = []
    found = compute(setup("old-twin"), True, parts.append, lambda: False)
    assert found.sweep.stock
    assert [line.name for line in found.sweep.lines] == [f.line for f in found.findings]
    assert parts == sorted(parts)
    assert parts[-1] == pytest.approx(1.0, abs=0.05)


def test_compute_can_be_cancelled():
    with pytest.raises(Cancelled):
        compute(setup("old-twin"), True, lambda part: None, lambda: True)
