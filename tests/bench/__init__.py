"""Benchmarks: run with `pytest tests/bench --benchmark-only`; no part of the timed tests."""
