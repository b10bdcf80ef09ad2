"""Pages of the shop."""
