"""What the background process does: sweeps on request. No Qt, so that it starts quickly.

A process and not a thread, because much of a sweep is Python: in a thread it shares the
interpreter with the window. Measured on two cores without drawing, the longest the window did not
answer while a sweep ran was 150 ms with a thread and 30 ms with a process. A process can also be
ended at once: closing the window never waits for a sweep.
"""

from __future__ import annotations

import pickle
import signal
import traceback
from collections.abc import Callable
from ctypes import c_longlong
from dataclasses import dataclass
from multiprocessing.connection import Connection

from barfit.analysis import Cancelled, Sweep, corrected, findings, sweep
from barfit.model import Setup
from barfit.session import Result
from barfit.trade import trade

SWEEP_SHARE = 0.7  # of a job's time; the rest goes to the findings
STEP = 0.02  # of a job, the least progress worth telling

Progress = Callable[[float], None]
Compute = Callable[[Setup, bool, Progress, Callable[[], bool]], Result]


@dataclass(frozen=True)
class Request:
    """Compute these bars of this setup, in this order (True: stock)."""

    number: int
    setup: Setup
    order: tuple[bool, ...]


@dataclass(frozen=True)
class Reply:
    """What became of a request: "progress" with a fraction, "result" with a Result, "failed"
    with a sentence, and last "end", also for a request that was cancelled.
    """

    number: int
    kind: str
    value: object = None


def compute(setup: Setup, stock: bool, progress: Progress, cancelled: Callable[[], bool]) -> Result:
    """Sweep one set of bars and say what it means. Raises Cancelled, and what a sweep raises."""
    swept = sweep(
        setup,
        stock=stock,
        progress=lambda part: progress(SWEEP_SHARE * part),
        cancelled=cancelled,
    )
    before = _with_stock_bars(setup, swept if stock else None, cancelled)
    found = findings(
        swept,
        progress=lambda part: progress(SWEEP_SHARE + (1 - SWEEP_SHARE) * part),
        cancelled=cancelled,
    )
    return Result(
        corrected(swept, {one.line: one.sure.slack_by for one in found}),
        found,
        trade(swept, before, found),
    )


_stock: list[Sweep] = []  # the last sweep with stock bars: the new ones are held beside it


def _with_stock_bars(setup: Setup, swept: Sweep | None, cancelled: Callable[[], bool]) -> Sweep:
    if swept is None and _stock and _stock[0].setup.asks_same(setup):
        return _stock[0]
    _stock[:] = [swept or sweep(setup, stock=True, cancelled=cancelled)]
    return _stock[0]


def serve(pipe: Connection, wanted: c_longlong, compute: Compute) -> None:
    """Answer requests until the window's end of the pipe is closed.

    ``wanted`` is the number of the newest request; an older one is given up.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the window decides when it is over
    try:
        while True:
            request: Request = pipe.recv()
            _answer(request, pipe, wanted, compute)
            _tell(pipe, Reply(request.number, "end"))
    except (EOFError, OSError):
        return


def _answer(request: Request, pipe: Connection, wanted: c_longlong, compute: Compute) -> None:
    told = 0.0

    def cancelled() -> bool:
        return wanted.value != request.number

    try:
        for done, stock in enumerate(request.order):

            def progress(part: float, done: int = done) -> None:
                nonlocal told
                whole = (done + part) / len(request.order)
                if whole >= told + STEP:
                    told = whole
                    _tell(pipe, Reply(request.number, "progress", whole))

            result = compute(request.setup, stock, progress, cancelled)
            _tell(pipe, Reply(request.number, "result", result))
    except Cancelled:
        pass
    except ValueError as error:  # what geometry and analysis raise, in whole sentences
        _tell(pipe, Reply(request.number, "failed", str(error)))
    except (EOFError, OSError):  # the window is gone
        raise
    except Exception as error:  # a defect: the window must live, and say so
        traceback.print_exc()
        _tell(pipe, Reply(request.number, "failed", f"The sweep stopped on a fault: {error!r}"))


def _tell(pipe: Connection, reply: Reply) -> None:
    # protocol 5 keeps read-only arrays read-only
    pipe.send_bytes(pickle.dumps(reply, protocol=5))
