"""A sweep as arrays in one file, NumPy's own .npz, to be read with nothing but numpy.load."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from barfit.analysis import Sweep

ABOUT = (
    "turns_rad (A,) is common to all lines. Of each line NN, the number of its name in 'lines': "
    "travels_mm (T,), along_mm (M,), centrelines_mm (T, A, M, 3), radii_mm (T, A, M), slack_mm, "
    "taut_length_mm, smallest_radius_mm, tension_N and known (T, A). nan is not known. "
    "x forward, y left, z up (ISO 8855), from where the steering axis pierces the top face of the "
    "top clamp; a turn to the left and compression are positive."
)


def write_npz(sweep: Sweep, target: Path) -> None:
    """Write a sweep's arrays under names with units in them; ``about`` explains. Raises OSError.

    No name is longer than it need be: ``line03_slack_mm`` is that of ``lines[3]``.
    """
    arrays: dict[str, np.ndarray] = {
        "about": np.array(ABOUT),
        "title": np.array(sweep.setup.title),
        "bars": np.array(sweep.setup.bars(sweep.stock).title),
        "lines": np.array([line.name for line in sweep.lines]),
        "turns_rad": sweep.angles,
    }
    for number, line in enumerate(sweep.lines):
        unknown = np.where(line.converged, 0.0, np.nan)
        of_line = {
            "travels_mm": line.travels,
            "along_mm": line.arc,
            "centrelines_mm": line.shapes + unknown[..., None, None],
            "radii_mm": line.radii,
            "slack_mm": line.slack,
            "taut_length_mm": line.taut,
            "smallest_radius_mm": line.min_radius,
            "tension_N": line.tension,
            "known": line.converged,
        }
        arrays |= {f"line{number:02d}_{name}": array for name, array in of_line.items()}
    with target.open("wb") as file:  # given a name alone, the ending would be changed
        np.savez_compressed(file, allow_pickle=False, **arrays)
