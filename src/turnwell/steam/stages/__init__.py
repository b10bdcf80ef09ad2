"""The stages of a run, found from its temperature and pressure."""

from turnwell.steam.stages.course import course_of

__all__ = ["course_of"]
