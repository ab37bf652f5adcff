"""The window: PySide6 and pyvistaqt live here and nowhere else."""
