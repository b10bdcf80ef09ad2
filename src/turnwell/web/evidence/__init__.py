"""Files as they were received, kept under their SHA-256."""
