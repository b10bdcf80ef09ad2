"""One stay of one handpiece at the bench."""
