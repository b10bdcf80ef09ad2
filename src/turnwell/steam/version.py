"""Version of the method: stored with every result, so that old ones can be told from new ones."""

__all__ = ["STEAM_VERSION"]

STEAM_VERSION = "1.0"
