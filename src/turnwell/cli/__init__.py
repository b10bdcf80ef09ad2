"""The same work from a terminal: parse, call, print."""
