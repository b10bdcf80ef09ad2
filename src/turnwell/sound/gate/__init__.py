"""What is wrong with a recording, and which answers that takes away."""
