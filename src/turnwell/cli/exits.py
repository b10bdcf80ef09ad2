"""What a command's exit code says."""

__all__ = ["ANSWERED", "BAD_INPUT", "CANNOT_ANSWER", "USAGE"]

ANSWERED = 0
BAD_INPUT = 1
USAGE = 2
CANNOT_ANSWER = 3
