"""Pages of lives and returns."""
