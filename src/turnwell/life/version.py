"""Version of the methods: stored with every result, so that old ones can be told from new ones."""

__all__ = ["LIFE_VERSION"]

LIFE_VERSION = "1.0"
