"""Scenario files to and from a `Setup`: TOML, laid out as in ``scenarios/FORMAT.md``."""

from __future__ import annotations

from barfit.scenario.problems import Problem, ScenarioError
from barfit.scenario.reading import bundled, load, loads
from barfit.scenario.writing import dumps, refusals, save

__all__ = ["Problem", "ScenarioError", "bundled", "dumps", "load", "loads", "refusals", "save"]
