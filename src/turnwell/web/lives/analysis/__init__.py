"""What the book says of lives and returns, by the life core; the only place that calls it."""
