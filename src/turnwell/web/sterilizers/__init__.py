"""Sterilizers of the offices, their cycle records, and what these say."""
