"""The endings of names by which recordings are found in a folder."""

__all__ = ["ENDINGS"]

ENDINGS = tuple(
    f".{ending}"
    for ending in (
        *("wav", "wave", "w64", "rf64", "bwf", "aif", "aiff", "aifc", "caf", "au", "snd"),
        *("flac", "wv", "ape", "tta", "mp3", "aac", "m4a", "m4b", "ogg", "oga", "opus"),
        *("amr", "wma", "mka", "mp4", "m4v", "mov", "qt", "3gp", "3g2", "mj2", "mkv"),
        *("webm", "avi", "wmv", "asf", "ts", "mts", "m2ts", "mpg", "mpeg"),
    )
)
