"""Lines as wholes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from barfit.edits.names import beside, checked_name, find, fresh_name, replaced, without
from barfit.model import Line, Setup


def add_line(setup: Setup, line: Line) -> Setup:
    """One more line, under a fresh name where its own is taken."""
    line = replace(line, name=fresh_name(line.name, [one.name for one in setup.lines]))
    return replace(setup, lines=(*setup.lines, line))


def change_line(setup: Setup, name: str, /, **fields: Any) -> Setup:
    """Fields of a line changed (its name: `rename_line`)."""
    changed = replace(find(setup.lines, name), **fields)
    return replace(setup, lines=replaced(setup.lines, name, changed))


def rename_line(setup: Setup, name: str, new: str) -> Setup:
    """A line renamed. Raises ValueError where that name is taken."""
    others = [one.name for one in setup.lines if one.name != name]
    new = checked_name(new, others, "line")
    return change_line(_job_calls(setup, name, new), name, name=new)


def duplicate_line(setup: Setup, name: str) -> Setup:
    """A copy of a line behind it, under a fresh name.

    Slack found on the machine is that of the line itself, not of its copy.
    """
    taken = [one.name for one in setup.lines]
    copy = replace(find(setup.lines, name), name=fresh_name(name, taken), found_slack=None)
    return replace(setup, lines=beside(setup.lines, name, copy))


def delete_line(setup: Setup, name: str) -> Setup:
    """The setup without that line. Raises ValueError for the last one."""
    lines = without(setup.lines, name)
    if not lines:
        raise ValueError("A setup needs at least one line; this is the last.")
    return replace(_job_calls(setup, name, ""), lines=lines)


def _job_calls(setup: Setup, name: str, new: str) -> Setup:
    """The setup with its job calling a line ``new``, or with that line gone from it."""
    job = setup.job
    choices = (
        replace(one, line=new) if one.line == name else one
        for one in job.choices
        if new or one.line != name
    )
    sets = (
        replace(
            one,
            parts=tuple(
                replace(part, line=new) if part.line == name else part for part in one.parts
            ),
        )
        for one in job.sets
    )
    return replace(setup, job=replace(job, choices=tuple(choices), sets=tuple(sets)))
