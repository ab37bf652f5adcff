"""What tests of the commands share."""

from __future__ import annotations

from dataclasses import replace

import pytest

from barfit.commands import order, plan
from barfit.commands.shared import Worked, work_out
from barfit.model import Job, Setup

_WORKED: dict[Setup, Worked] = {}


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Remedies of the same lines, chosen alike, are looked for once: it takes seconds."""

    def worked_out(setup: Setup, label: str = "") -> Worked:
        alike = replace(setup, job=Job(choices=setup.job.choices), source="", folder="")
        if alike not in _WORKED:
            _WORKED[alike] = work_out(setup, label)
        return replace(_WORKED[alike], setup=setup)

    for command in (order, plan):
        monkeypatch.setattr(command, "work_out", worked_out)
