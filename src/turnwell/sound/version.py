"""Version of the method: raised whenever the same recording may give another answer."""

__all__ = ["SOUND_VERSION"]

SOUND_VERSION = "2"
