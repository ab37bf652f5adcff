"""What tests of every folder share."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from barfit import scenario
from barfit.model import Setup

# The same examples on every machine, and no failure because a shared one is slow.
settings.register_profile(
    "barfit",
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
settings.load_profile("barfit")


@pytest.fixture(scope="session")
def cruiser_path() -> Path:
    return Path(__file__).parent / "data" / "cruiser.toml"


@pytest.fixture(scope="session")
def cruiser(cruiser_path: Path) -> Setup:
    return scenario.load(cruiser_path)
