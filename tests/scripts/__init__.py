"""Long runs that are no part of the timed tests."""
