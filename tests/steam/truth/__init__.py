"""Invented runs of small steam sterilizers whose truth is known, and the files they log."""
