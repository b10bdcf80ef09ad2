"""Pages of signing in and of people."""
