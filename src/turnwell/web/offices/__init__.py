"""Dental offices and their chairs."""
