"""Tags of the templates of handpieces."""
