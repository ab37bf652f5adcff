"""The rod against everything outside it: the same list of checks that `barfit bench` prints."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from barfit.bench import GROUPS
from barfit.bench.check import Check


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_rod_agrees(group: Callable[[], list[Check]]) -> None:
    checks = group()
    assert checks
    failed = [str(check) for check in checks if not check.passed]
    assert not failed, f"{len(failed)} of {len(checks)} failed:\n" + "\n".join(failed)
