"""The page about scenario files knows every key, kind and word, and its example can be read."""

from __future__ import annotations

import math
import re
from enum import StrEnum
from pathlib import Path

import pytest

from barfit.analysis import Verdict, findings, sweep
from barfit.catalogue import line_kinds, scenario_dir
from barfit.model import Body, Build, ControlKind, Hold, Role, Setup, Side
from barfit.report.results import Checked, results
from barfit.report.trade import remarks
from barfit.scenario import job, loads, schema
from barfit.trade import Grade, trade

PAGE = (scenario_dir() / "FORMAT.md").read_text(encoding="utf-8")
TABLES = [
    table for module in (schema, job) for table in vars(module).values() if isinstance(table, type)
]


@pytest.mark.parametrize(
    "table",
    [table for table in TABLES if issubclass(table, schema.Table) and table is not schema.Table],
    ids=lambda table: table.__name__,
)
def test_every_key_is_explained(table: type[schema.Table]) -> None:
    missing = [key for key in table.model_fields if not re.search(rf"\b{key}\b", PAGE)]
    assert not missing


@pytest.mark.parametrize("words", [Role, ControlKind, Body, Side, Hold, Verdict, Grade, Build])
def test_every_word_is_listed(words: type[StrEnum]) -> None:
    missing = [word for word in words if f"`{word.value}`" not in PAGE and word not in PAGE]
    assert not missing


def test_every_kind_of_line_is_listed() -> None:
    assert not [kind for kind in line_kinds() if f"`{kind}`" not in PAGE]


def test_every_field_of_the_results_is_listed(cruiser: Setup) -> None:
    swept = sweep(cruiser, step=math.radians(20.0))
    found = findings(swept)
    said = remarks(trade(swept, swept, found), cruiser, "mm")
    data = results(cruiser, [Checked(False, found, said)])
    assert not [name for name in sorted(_names(data)) if f"`{name}`" not in PAGE]


def _names(data: object) -> set[str]:
    """Every key of nested results."""
    if isinstance(data, list):
        return set().union(*map(_names, data))
    if isinstance(data, dict):
        return set(data).union(*map(_names, data.values()))
    return set()


def test_the_example_job_can_be_read(cruiser_path: Path) -> None:
    (example,) = re.findall(r"```toml\n(\[job\].*?)```", PAGE, re.DOTALL)
    setup = loads(f"{cruiser_path.read_text(encoding='utf-8')}\n{example}")
    assert setup.job.currency == "EUR"
    assert setup.job.sets[0].parts[2].length == 1200.0
    assert setup.job.ticks[0].found == 18.0


def test_the_example_line_can_be_read(cruiser: Setup, cruiser_path: Path) -> None:
    examples = re.findall(r"```toml\n(\[lines.*?)```", PAGE, re.DOTALL)
    assert len(examples) == 1
    text = cruiser_path.read_text(encoding="utf-8")
    example = examples[0].replace('control = "front brake"', f'control = "{_master(cruiser)}"')
    setup = loads(text[: text.index('[lines."throttle pull cable"]')] + example)
    assert [line.name for line in setup.lines] == ["front brake hose"]


def _master(setup: Setup) -> str:
    kind = ControlKind.BRAKE_MASTER
    return next(control.name for control in setup.controls if control.kind is kind)
