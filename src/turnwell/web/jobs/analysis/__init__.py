"""Hands the records of a job to the cores and gives back their results; nothing else calls them."""
