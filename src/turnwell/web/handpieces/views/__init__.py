"""Pages of handpieces, own models, limits and the catalogue."""
