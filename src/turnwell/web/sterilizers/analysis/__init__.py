"""What cycle records and feed water say, by the steam core; the only place that calls it."""
