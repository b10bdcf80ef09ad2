"""The shop itself: its settings, its instruments, today's bench and the search."""
