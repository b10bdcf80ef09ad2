"""The speed of a shaft over time: found in spectra, followed, and refined by phase."""
