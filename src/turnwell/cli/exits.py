"""What a command's exit code says."""

__all__ = ["ANSWERED", "BAD_INPUT", "CANNOT_ANSWER", "STOPPED", "USAGE"]

ANSWERED = 0
BAD_INPUT = 1
USAGE = 2
CANNOT_ANSWER = 3
STOPPED = 130  # by Ctrl-C: 128 and the number of the signal
