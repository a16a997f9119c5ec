"""Tests of glasswork.drawing."""
