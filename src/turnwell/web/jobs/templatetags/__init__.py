"""Tags of the job page."""
