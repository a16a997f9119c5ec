"""Glasswork: a backlit stained-glass panel print-and-layer composer."""

__version__ = "0.1.0"
