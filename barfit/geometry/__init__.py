"""Frames, bars, curves, solids and poses."""
