"""One background worker: computes what a setup's bars do, the newest request wins.

Invariants:
1. The background process gets an immutable setup and gives back immutable arrays.
2. Replies cross to the window's thread in Qt's queue, and none is told after ``stop``: one can
   still lie in the queue by then.
3. At most one request is under way and one waits. A new one cancels the one under way and
   replaces the one that waits.
"""

from __future__ import annotations

import multiprocessing
import pickle
import threading
from dataclasses import replace
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from PySide6.QtCore import QObject, Qt, Signal

from barfit.model import Setup
from barfit.session import Result
from barfit.ui.background import Compute, Propose, Reply, Request, compute, propose, serve


class Worker(QObject):
    """Computes both sets of bars of the setup last submitted, or the new ones alone.

    ``progressed`` tells a fraction of the whole, ``finished`` a Result for each set of bars;
    ``looked`` a fraction of the remedies, ``tried`` what is being tried (`barfit.remedies.Trying`),
    ``found`` the setup and all about one of its lines, ``proposed`` the setup and all of them,
    ``unproposed`` why there are none; ``failed`` a sentence, ``idle`` that nothing is left to do.
    """

    progressed = Signal(float)
    finished = Signal(object)
    looked = Signal(float)
    tried = Signal(object)
    found = Signal(object, object)
    proposed = Signal(object, object)
    unproposed = Signal(str)
    failed = Signal(str)
    idle = Signal()
    _told = Signal(object, object)  # from the reader's thread: its pipe, and a Reply or None

    def __init__(
        self,
        parent: QObject | None = None,
        compute: Compute = compute,
        propose: Propose = propose,
    ) -> None:
        super().__init__(parent)
        self._compute, self._propose = compute, propose
        self._context = multiprocessing.get_context("spawn")  # a fork would copy Qt's threads
        # without a lock, which is a semaphore that outlives a window that is killed; one side alone
        # writes, and a number of 64 bits is written whole
        self._wanted = self._context.Value("q", 0, lock=False)
        self._process: BaseProcess | None = None
        self._pipe: Connection | None = None
        self._reader: threading.Thread | None = None
        self._count = 0
        self._running: Request | None = None
        self._waiting: Request | None = None
        self._stopped = False
        self._told.connect(self._hear, Qt.ConnectionType.QueuedConnection)

    @property
    def busy(self) -> bool:
        """Whether a request is under way."""
        return self._running is not None

    def submit(self, setup: Setup, stock_first: bool = False) -> None:
        """Compute this setup's new and stock bars and what can be done about lines that do not
        fit, instead of whatever is under way.
        """
        self._submit(setup, (stock_first, not stock_first), remedies=True)

    def submit_new(self, setup: Setup) -> None:
        """Compute this setup's new bars alone, instead of whatever is under way."""
        self._submit(setup, (False,))

    def give_up(self) -> None:
        """Compute nothing more of what was submitted; ``idle`` follows when that has ended."""
        self._count += 1
        self._wanted.value = self._count
        self._waiting = None

    def _submit(self, setup: Setup, order: tuple[bool, ...], remedies: bool = False) -> None:
        if self._stopped:
            return
        self._count += 1
        self._wanted.value = self._count
        self._waiting = Request(self._count, setup, order, remedies)
        if self._running is None:
            self._send_waiting()

    def stop(self) -> None:
        """End the work and its process at once. Nothing is told afterwards."""
        self._stopped, self._running, self._waiting = True, None, None
        self._end_process()

    def _send_waiting(self) -> None:
        self._running, self._waiting = self._waiting, None
        if self._running is None:
            self.idle.emit()
            return
        self.progressed.emit(0.0)
        if self._pipe is None:
            self._pipe = self._start_process()
        try:
            self._pipe.send(self._running)
        except OSError:  # it died while it had nothing to do
            self._end_process()
            self._pipe = self._start_process()
            self._pipe.send(self._running)

    def _start_process(self) -> Connection:
        ours, theirs = self._context.Pipe()
        self._process = self._context.Process(
            target=serve,
            args=(theirs, self._wanted, self._compute, self._propose),
            name="barfit sweep",
            daemon=True,
        )
        self._process.start()
        theirs.close()  # or we would never hear that the process has ended
        self._reader = threading.Thread(
            target=self._read, args=(ours,), name="barfit results", daemon=True
        )
        self._reader.start()
        return ours

    def _end_process(self) -> None:
        if self._process is None or self._reader is None or self._pipe is None:
            return
        self._process.kill()
        self._process.join()
        self._reader.join()
        self._process.close()
        self._pipe.close()
        self._process = self._reader = self._pipe = None

    def _read(self, pipe: Connection) -> None:
        """Runs on the reader's thread: big results arrive without holding up the window."""
        try:
            while True:
                self._told.emit(pipe, pickle.loads(pipe.recv_bytes()))
        except (EOFError, OSError):
            self._told.emit(pipe, None)

    def _hear(self, pipe: Connection, reply: Reply | None) -> None:
        """Runs on the window's thread; ``reply`` is None when the process has ended."""
        if self._stopped or pipe is not self._pipe:
            return
        if reply is None:
            self._lost()
        elif self._running is None or reply.number != self._running.number:
            return
        elif reply.kind == "end":
            self._running = None
            self._send_waiting()
        elif reply.number != self._count:  # cancelled meanwhile
            return
        elif reply.kind == "progress":
            self.progressed.emit(reply.value)
        elif reply.kind == "looking":
            self.looked.emit(reply.value)
        elif reply.kind == "trying":
            self.tried.emit(reply.value)
        elif reply.kind == "found":
            self.found.emit(self._running.setup, reply.value)
        elif reply.kind == "remedies":
            self.proposed.emit(self._running.setup, reply.value)
        elif reply.kind == "unproposed":
            self.unproposed.emit(reply.value)
        elif reply.kind == "result":
            assert isinstance(reply.value, Result)
            # the very setup that was submitted, not its copy: comparing them is then free
            swept = replace(reply.value.sweep, setup=self._running.setup)
            self.finished.emit(replace(reply.value, sweep=swept))
        else:
            self.failed.emit(reply.value)

    def _lost(self) -> None:
        """The process has ended by itself; the next request starts another."""
        self._end_process()
        if self._running is None:
            return
        self._running = None
        self.failed.emit(
            "The computation in the background broke off. It starts again with the next change."
        )
        self._send_waiting()
