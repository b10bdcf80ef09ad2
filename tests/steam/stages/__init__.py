"""Tests of the stages of a run."""
