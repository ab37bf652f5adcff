"""Published numbers for slender rods, each group with its source beside it in the data file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

_TABLE: dict[str, Any] = json.loads(
    (Path(__file__).with_name("elastica_values.json")).read_text(encoding="utf-8")
)


def cases(group: str) -> list[dict[str, Any]]:
    """The cases of a group: name, inputs, expected (lengths scaled by L, forces by EI/L²)."""
    return list(_TABLE[group]["cases"])


def names(group: str) -> list[str]:
    """Test ids of a group."""
    return [case["name"] for case in cases(group)]
