"""An invented shop with three offices and a year of jobs, to look around in."""

from turnwell.demo.story import fill

__all__ = ["fill"]
