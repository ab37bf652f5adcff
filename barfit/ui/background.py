"""What the background process does: sweeps on request, then what can be done about lines that do
not fit. No Qt, so that it starts quickly.

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

from barfit.analysis import Cancelled, LineFinding, Sweep, corrected, findings, sweep
from barfit.model import Setup
from barfit.remedies import Remedies, Tell, Trying, remedies
from barfit.session import Result
from barfit.trade import Trade, trade
from barfit.ui.faults import blamed, fault_sentences

SWEEP_SHARE = 0.7  # of a job's time; the rest goes to the findings
STEP = 0.02  # of a job, the least progress worth telling

Progress = Callable[[float], None]
Compute = Callable[[Setup, bool, Progress, Callable[[], bool]], Result]
Propose = Callable[[Setup, Progress, Callable[[], bool], Tell], tuple[Remedies, ...]]


@dataclass(frozen=True)
class Request:
    """Compute these bars of this setup, in this order (True: stock); then, where ``remedies`` is
    true, what can be done about lines that do not fit the new ones.
    """

    number: int
    setup: Setup
    order: tuple[bool, ...]
    remedies: bool = False


@dataclass(frozen=True)
class Reply:
    """What became of a request: "progress" with a fraction, "result" with a Result, "looking" with
    a fraction of the remedies, "trying" with what is tried, "found" with all about one line,
    "remedies" with all of them, "failed" or "unproposed" with a
    sentence why there are no results or no remedies, and last "end", also for a request that was
    cancelled.
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
    figures = trade(swept, before, found)
    if not stock:
        _new[:] = [_Judged(swept, before, found, figures)]
    return Result(corrected(swept, {one.line: one.sure.slack_by for one in found}), found, figures)


def propose(
    setup: Setup, progress: Progress, cancelled: Callable[[], bool], tell: Tell
) -> tuple[Remedies, ...]:
    """What can be done about the lines of the setup last computed with its new bars.

    Raises Cancelled, and what a sweep raises.
    """
    if not _new or not _new[0].swept.setup.asks_same(setup):
        compute(setup, False, lambda part: None, cancelled)
    judged = _new[0]
    return remedies(
        judged.swept,
        judged.stock,
        judged.found,
        judged.figures,
        progress,
        cancelled,
        tell=tell,
    )


@dataclass(frozen=True, eq=False)
class _Judged:
    """What was found with the new bars, none of it corrected."""

    swept: Sweep
    stock: Sweep
    found: tuple[LineFinding, ...]
    figures: Trade


_new: list[_Judged] = []  # the last one: remedies start from it
_stock: list[Sweep] = []  # the last sweep with stock bars: the new ones are held beside it


def _with_stock_bars(setup: Setup, swept: Sweep | None, cancelled: Callable[[], bool]) -> Sweep:
    if swept is None and _stock and _stock[0].setup.asks_same(setup):
        return _stock[0]
    _stock[:] = [swept or sweep(setup, stock=True, cancelled=cancelled)]
    return _stock[0]


def serve(pipe: Connection, wanted: c_longlong, compute: Compute, propose: Propose) -> None:
    """Answer requests until the window's end of the pipe is closed.

    ``wanted`` is the number of the newest request; an older one is given up.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the window decides when it is over
    try:
        while True:
            request: Request = pipe.recv()
            _answer(request, pipe, wanted, compute, propose)
            _tell(pipe, Reply(request.number, "end"))
    except (EOFError, OSError):
        return


def _answer(
    request: Request, pipe: Connection, wanted: c_longlong, compute: Compute, propose: Propose
) -> None:
    told, failed = 0.0, "failed"

    def cancelled() -> bool:
        return wanted.value != request.number

    def tell_part(kind: str, part: float) -> None:
        nonlocal told
        if part >= told + STEP:
            told = part
            _tell(pipe, Reply(request.number, kind, part))

    try:
        for done, stock in enumerate(request.order):

            def progress(part: float, done: int = done) -> None:
                tell_part("progress", (done + part) / len(request.order))

            result = compute(request.setup, stock, progress, cancelled)
            _tell(pipe, Reply(request.number, "result", result))
        if request.remedies:
            told, failed = 0.0, "unproposed"
            _tell(pipe, Reply(request.number, "looking", 0.0))

            def tell(one: Trying | Remedies) -> None:
                kind = "trying" if isinstance(one, Trying) else "found"
                _tell(pipe, Reply(request.number, kind, one))

            found = propose(request.setup, lambda part: tell_part("looking", part), cancelled, tell)
            _tell(pipe, Reply(request.number, "remedies", found))
    except Cancelled:
        pass
    except ValueError as error:  # what geometry and analysis raise, in whole sentences
        _tell(pipe, Reply(request.number, failed, str(error)))
    except (EOFError, OSError):  # the window is gone
        raise
    except Exception:  # a defect: the window must live, and say so
        traceback.print_exc()
        where = _blamed(request, compute, cancelled) if failed == "failed" else ()
        _tell(pipe, Reply(request.number, failed, fault_sentences(where)))


def _blamed(request: Request, compute: Compute, cancelled: Callable[[], bool]) -> tuple[str, ...]:
    """The lines a defect lies in; none where it is no longer asked."""

    def alone(setup: Setup) -> None:
        for stock in request.order:
            compute(setup, stock, lambda part: None, cancelled)

    try:
        return blamed(request.setup, alone)
    except Cancelled:
        return ()


def _tell(pipe: Connection, reply: Reply) -> None:
    # protocol 5 keeps read-only arrays read-only
    pipe.send_bytes(pickle.dumps(reply, protocol=5))
