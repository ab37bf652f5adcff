"""The designer's data: centrelines and numbers of a sweep, for spreadsheets and other programs."""

from __future__ import annotations

from barfit.export.arrays import write_npz
from barfit.export.tables import write_csv

__all__ = ["write_csv", "write_npz"]
