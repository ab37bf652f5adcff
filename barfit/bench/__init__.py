"""How fast and how right the rod is: the numbers behind `barfit bench`.

Nothing of the product imports this package; it imports the product.
"""

from __future__ import annotations

import os
import platform

import numpy as np
import scipy
from rich.console import Console
from rich.table import Table

from barfit.bench import (
    contact_checks,
    plane_checks,
    space_checks,
    sweep_checks,
    torque_checks,
    twist_checks,
)
from barfit.bench.check import Check, Rule
from barfit.bench.edit import glances, small_edit
from barfit.bench.frames import drags, turning
from barfit.bench.growth import growth_table, growths
from barfit.bench.peer import against_peer, batch_steps
from barfit.bench.relaxed import MISSING, installed, peers_at_rest
from barfit.bench.speed import (
    all_findings,
    remedies_sought,
    sweeps,
    sweeps_with_contact,
    warm_poses,
)
from barfit.bench.timing import Timing
from barfit.scene import PictureError

__all__ = ["GROUPS", "accuracy_table", "main", "speed_table"]

# Every check against the outside, subject by subject.
GROUPS = (
    *plane_checks.GROUPS,
    *space_checks.GROUPS,
    *contact_checks.GROUPS,
    *sweep_checks.GROUPS,
    *torque_checks.GROUPS,
    *twist_checks.GROUPS,
)
# Everything timed, in the order it is shown.
MEASURES = (
    warm_poses,
    batch_steps,
    small_edit,
    glances,
    drags,
    turning,
    sweeps,
    sweeps_with_contact,
    all_findings,
    remedies_sought,
    against_peer,
)


def main(accuracy: bool = False, repeats: int = 5) -> int:
    """Print the speed of the solver, or with ``accuracy`` every check against the outside.

    Returns 0, or 1 where a check of accuracy failed; a time that misses its target is only shown,
    since it says as much about the machine. Raises ValueError for ``repeats`` below 1.
    """
    if repeats < 1:
        raise ValueError(f"repeats is {repeats}; it must be 1 or more")
    console = Console()
    console.print(machine())
    if accuracy:
        checks = []
        for group in GROUPS:
            with console.status(f"checking: {group.__name__.replace('_', ' ')}"):
                checks += group()
        beside = None
        if installed():
            with console.status("checking: a rod of a public library let swing to rest"):
                found, beside = peers_at_rest()
            checks += found
        console.print(accuracy_table(checks))
        console.print(MISSING if beside is None else beside, markup=False)
        failed = sum(not check.passed for check in checks)
        console.print(f"{len(checks) - failed} of {len(checks)} checks passed.")
        return 1 if failed else 0
    timings: list[Timing] = []
    for measure in MEASURES:
        try:
            with console.status(f"timing: {measure.__name__.replace('_', ' ')}"):
                timings += measure(repeats)
        except PictureError as error:  # no display and no EGL: all else can be timed
            console.print(f"Frames of the picture are not timed: {error}.", markup=False)
    console.print(speed_table(timings, repeats))
    with console.status("timing: growth of cost"):
        grown = growths(repeats)
    console.print(growth_table(grown))
    return 0


def machine() -> str:
    """What the numbers were measured on, in one line."""
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    return (
        f"Python {platform.python_version()}, numpy {np.__version__}, scipy {scipy.__version__}, "
        f"{platform.system()}, {os.cpu_count()} cores, load {load:.1f}"
    )


def speed_table(timings: list[Timing], repeats: int) -> Table:
    """Each time in ms with its target and its peer."""
    table = Table(
        title=f"Speed (settling and drawing taut: per line and pose), medians of {repeats} repeats"
    )
    table.add_column("what")
    for name in ("ms", "target ms"):
        table.add_column(name, justify="right")
    table.add_column("beside")
    for name in ("its ms", "times faster", "wanted"):
        table.add_column(name, justify="right")
    table.add_column("met")
    before = ""
    for row in timings:
        again = row.what == before
        table.add_row(
            "" if again else row.what,
            "" if again else _ms(row.seconds),
            _ms(row.target),
            row.beside,
            _ms(row.peer),
            "" if row.ratio is None else f"{row.ratio:.3g}",
            "" if row.times is None else f"{row.times:g}",
            {None: "", True: "yes", False: "no"}[row.met],
        )
        before = row.what
    return table


def accuracy_table(checks: list[Check]) -> Table:
    """Every check: case, what is compared, source, expected, got, error, what is allowed."""
    table = Table(title="Accuracy: the rod against the outside")
    for name in ("case", "compared", "source"):
        table.add_column(name)
    for name in ("expected", "got", "error", "allowed"):
        table.add_column(name, justify="right")
    table.add_column("passed")
    before = ""
    for check in checks:
        if before and check.case != before:
            table.add_section()
        table.add_row(
            "" if check.case == before else check.case,
            check.quantity,
            check.source,
            _expected(check),
            f"{check.got:.6g}",
            _error(check),
            _allowed(check),
            "yes" if check.passed else "[bold]no[/bold]",
        )
        before = check.case
    return table


def _ms(seconds: float | None) -> str:
    if seconds is None:
        return ""
    return f"{1e3 * seconds:.0f}" if seconds > 0.1 else f"{1e3 * seconds:.3g}"


def _expected(check: Check) -> str:
    signs = {Rule.AT_LEAST: "≥ ", Rule.AT_MOST: "≤ "}
    return signs.get(check.rule, "") + f"{check.expected:.6g}"


def _error(check: Check) -> str:
    if check.rule is Rule.AT_MOST:
        return ""
    if check.rule is Rule.NEAR:
        return f"{check.error:+.2g}"
    return f"{100 * check.error:+.3f} %"


def _allowed(check: Check) -> str:
    if check.rule is Rule.AT_MOST:
        return ""
    if check.rule is Rule.NEAR:
        return f"± {check.tolerance:g}"
    sign = "-" if check.rule is Rule.AT_LEAST else "±"
    return f"{sign} {100 * check.tolerance:g} %"
