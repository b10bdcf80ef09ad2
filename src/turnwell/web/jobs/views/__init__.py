"""Pages of jobs: who may, parse a form, call one action or read, render."""
