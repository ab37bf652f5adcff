"""Scenario files to and from a `Setup`: TOML, laid out as in ``scenarios/FORMAT.md``."""

from __future__ import annotations

from barfit.scenario.ondisk import OnDisk, compare, digest, look
from barfit.scenario.problems import Problem, ScenarioError
from barfit.scenario.reading import bundled, first, load, loads
from barfit.scenario.writing import dumps, refusals, replace_file, save

__all__ = [
    "OnDisk",
    "Problem",
    "ScenarioError",
    "bundled",
    "compare",
    "digest",
    "dumps",
    "first",
    "load",
    "loads",
    "look",
    "refusals",
    "replace_file",
    "save",
]
