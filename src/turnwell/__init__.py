"""Turnwell: the bench and the book of a person who repairs dental handpieces."""

__version__ = "0.1.0"
