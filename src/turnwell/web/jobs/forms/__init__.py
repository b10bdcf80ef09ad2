"""Forms of jobs: they parse and keep what was typed; the actions decide."""
