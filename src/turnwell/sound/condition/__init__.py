"""What the sound says about the condition of a handpiece, and whether a repair changed it."""
