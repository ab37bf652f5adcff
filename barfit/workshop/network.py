"""The critical path of a network of tasks: earliest and latest times and the float between them.

Critical path method (Kelley and Walker, 1959): forwards, a task starts when the last of those
before it has ended; backwards, it ends at the latest when the first of those after it has to start.
Total float is what it may slip without the end slipping, free float without any other task
slipping. Any unit of time.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from graphlib import TopologicalSorter

CLOSE = 1e-9  # of the whole time: less float than this is none


@dataclass(frozen=True)
class Times:
    """When one task can start and end, early and late, and how much it may slip."""

    early_start: float
    early_end: float
    late_start: float
    late_end: float
    free_float: float

    @property
    def total_float(self) -> float:
        """What it may slip without the end slipping."""
        return self.late_start - self.early_start


@dataclass(frozen=True)
class Network:
    """All tasks by their keys, how long all takes with hands enough, and one critical path."""

    times: Mapping[str, Times]
    length: float
    path: tuple[str, ...]

    def critical(self, key: str) -> bool:
        """Whether the end slips when this task does."""
        return self.times[key].total_float <= CLOSE * max(self.length, 1.0)


def in_order(before: Mapping[str, Collection[str]]) -> tuple[str, ...]:
    """The tasks so that each comes after those ``before`` it, else in the order given.

    Raises graphlib.CycleError where some wait for each other, KeyError for one not in the mapping.
    """
    for needs in before.values():
        for need in needs:
            before[need]
    sorter = TopologicalSorter(before)
    sorter.prepare()
    rank = {key: at for at, key in enumerate(before)}
    ready, done = list(sorter.get_ready()), []
    while ready:
        ready.sort(key=rank.__getitem__)
        done.append(ready.pop(0))
        sorter.done(done[-1])
        ready += sorter.get_ready()
    return tuple(done)


def network(durations: Mapping[str, float], before: Mapping[str, Collection[str]]) -> Network:
    """The times of every task of ``durations`` (each 0 or more), given what has to be done
    ``before`` each. Raises as `in_order`.
    """
    order = in_order({key: before.get(key, ()) for key in durations})
    after: dict[str, list[str]] = {key: [] for key in order}
    for key in order:
        for need in before.get(key, ()):
            after[need].append(key)
    start: dict[str, float] = {}
    end: dict[str, float] = {}
    for key in order:
        start[key] = _most(end[need] for need in before.get(key, ()))
        end[key] = start[key] + durations[key]
    length = _most(end.values())
    late: dict[str, float] = {}  # ends
    for key in reversed(order):
        late[key] = min((late[one] - durations[one] for one in after[key]), default=length)
    times = {
        key: Times(
            start[key],
            end[key],
            late[key] - durations[key],
            late[key],
            min((start[one] for one in after[key]), default=length) - end[key],
        )
        for key in order
    }
    return Network(times, length, _path(order, before, times))


def _most(times: Iterable[float]) -> float:
    return max(times, default=0.0)


def _path(
    order: Collection[str],
    before: Mapping[str, Collection[str]],
    times: Mapping[str, Times],
) -> tuple[str, ...]:
    """One longest way through, from a task that waits for none to the one that ends last."""
    if not order:
        return ()
    path = [max(order, key=lambda key: times[key].early_end)]
    while needs := before.get(path[-1], ()):
        path.append(max(needs, key=lambda key: times[key].early_end))
    return tuple(reversed(path))
