"""An invented shop with eight offices and three years of jobs, to look around in."""

from turnwell.demo.story import fill

__all__ = ["fill"]
