"""Speed and accuracy, measured; nothing here is a test."""
