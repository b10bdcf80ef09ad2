"""Calls at an office."""
