"""The sample designs."""
