"""The same results for other systems."""
