"""Handpieces, the models they are of, and the catalogue pages."""
