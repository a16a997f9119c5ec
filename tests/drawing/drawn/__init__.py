"""Windows drawn from measures."""
