"""Reads any audio or phone-video file into a `Recording`, within bounds.

The container is told by its content, never by its name. Formats that point at other files are left
out, so that a file handed in by a stranger can only be itself.
"""

from collections.abc import Iterator
from hashlib import sha256
from io import BytesIO
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypeAlias

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError, UnreadableFileError
from turnwell.sound.recording import HIGHEST_RATE_HZ, LOWEST_RATE_HZ, Recording

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer

__all__ = ["MAX_BYTES", "MAX_CHANNELS", "MAX_DURATION_S", "MAX_SAMPLES", "read_recording"]

MAX_BYTES = 1_500_000_000
MAX_DURATION_S = 3_600.0
MAX_SAMPLES = 350_000_000  # one hour at 96 kHz
MAX_CHANNELS = 16

FORMATS = (
    "wav,w64,rf64,aiff,caf,au,flac,mp3,aac,ogg,mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,"
    "amr,amrnb,amrwb,avi,asf,mpegts,mpeg,wv,ape,tta"
)
_ADVICE = "send the original file: WAV, FLAC, MP3, OGG, M4A, MP4, MOV or WEBM"

Source: TypeAlias = str | PathLike[str] | BinaryIO


def read_recording(
    source: Source,
    *,
    max_bytes: int = MAX_BYTES,
    max_duration_s: float = MAX_DURATION_S,
) -> Recording:
    """Read a sound or video file.

    Parameters
    ----------
    source : path or binary file
        What to read; a file object is read from its beginning.
    max_bytes, max_duration_s
        Largest file and longest recording to accept.

    Returns
    -------
    Recording
        Of several channels the strongest one: averaging would cancel lines whose wavelength is
        near the distance between two microphones.

    Raises
    ------
    UnreadableFileError
        If it is no sound file, holds no sound, or breaks off before the first sample.
    InputError
        If it is larger, longer or has more channels than allowed.
    """
    name, content, digest = _opened(source, max_bytes)
    import av

    try:
        with av.open(
            content,
            mode="r",
            metadata_errors="replace",
            options={"format_whitelist": FORMATS, "protocol_whitelist": "file"},
        ) as container:
            stream = _stream(container, name, max_duration_s)
            channel, channels = _strongest_channel(container, stream, max_duration_s)
            chunks = _Chunks(name, max_duration_s)
            complete = chunks.fill(container, stream, channel)
            samples = chunks.joined()
            return Recording(
                samples=samples,
                rate_hz=float(chunks.rate_hz),
                codec=stream.codec_context.name,
                channels=channels,
                sha256=digest,
                history=(f"read from {name}, channel {channel + 1} of {channels}",),
                complete=complete,
            )
    except (av.error.FFmpegError, UnicodeError, OverflowError, MemoryError) as error:
        raise UnreadableFileError(f"{name} cannot be read as a sound recording; {_ADVICE}") from (
            error
        )
    finally:
        if not isinstance(content, str):
            content.close()


def _opened(source: Source, max_bytes: int) -> tuple[str, str | BytesIO, str]:
    """Give a name to show, what the decoder shall open, and the hash of the bytes."""
    if isinstance(source, (str, PathLike)):
        path = Path(source)
        try:
            if not path.is_file():
                what = "is a folder" if path.is_dir() else "does not exist"
                raise UnreadableFileError(f"{path.name} {what}; give the path of a sound file")
            _check_size(path.name, path.stat().st_size, max_bytes)
            with path.open("rb") as file:
                digest = _hash_of(file)
        except (OSError, ValueError) as error:
            if isinstance(error, UnreadableFileError):
                raise
            raise UnreadableFileError(f"the file cannot be opened: {error}") from error
        return path.name, f"file:{path.absolute()}", digest
    source.seek(0)
    content = source.read(max_bytes + 1)
    name = Path(str(getattr(source, "name", "the file"))).name
    _check_size(name, len(content), max_bytes)
    return name, BytesIO(content), sha256(content).hexdigest()


def _check_size(name: str, size: int, max_bytes: int) -> None:
    if size == 0:
        raise UnreadableFileError(f"{name} is empty; {_ADVICE}")
    if size > max_bytes:
        raise InputError(
            f"{name} is larger than {max_bytes / 1e6:,.0f} MB; cut out the part with the run"
        )


def _hash_of(file: BinaryIO) -> str:
    digest = sha256()
    while chunk := file.read(1 << 20):
        digest.update(chunk)
    return digest.hexdigest()


def _stream(container: "InputContainer", name: str, max_duration_s: float) -> "AudioStream":
    """Give the sound stream after checking what the file says about itself."""
    if not container.streams.audio:
        what = "is a video without sound" if container.streams.video else "holds no sound"
        raise UnreadableFileError(f"{name} {what}; record it again with the microphone on")
    stream = container.streams.audio[0]
    if stream.codec_context is None:
        raise UnreadableFileError(f"{name} is coded in a way that cannot be read; {_ADVICE}")
    if not LOWEST_RATE_HZ <= stream.rate <= HIGHEST_RATE_HZ:
        raise InputError(
            f"{name} has {stream.rate} samples a second, must have {LOWEST_RATE_HZ} to "
            f"{HIGHEST_RATE_HZ}; record at 48,000"
        )
    if stream.channels > MAX_CHANNELS:
        raise InputError(
            f"{name} has {stream.channels} channels, at most {MAX_CHANNELS} are read; "
            "export one channel"
        )
    if stream.duration is not None and stream.time_base is not None:
        _check_duration(name, float(stream.duration * stream.time_base), max_duration_s)
    return stream


def _check_duration(name: str, duration_s: float, max_duration_s: float) -> None:
    # Half a second of grace: a coder's padding makes a file a little longer than it says.
    if duration_s > max_duration_s + 0.5:
        raise InputError(
            f"{name} lasts {duration_s / 60:,.0f} minutes, at most {max_duration_s / 60:,.0f} "
            "are read; cut out the part with the run"
        )


def _strongest_channel(
    container: "InputContainer", stream: "AudioStream", max_duration_s: float
) -> tuple[int, int]:
    """Give the channel with the most energy, and how many there are."""
    channels = max(stream.channels, 1)
    if channels == 1:
        return 0, 1
    energy = np.zeros(channels)
    limit, seen = int(min(max_duration_s, 60.0) * stream.rate), 0
    for block in _blocks(container, stream):
        if block.shape[0] != channels:
            break
        finite = np.nan_to_num(block, nan=0.0, posinf=0.0, neginf=0.0)
        energy += np.einsum("ij,ij->i", finite, finite, dtype=np.float64)
        seen += block.shape[1]
        if seen > limit:
            break
    container.seek(0)
    stream.codec_context.flush_buffers()
    return int(np.argmax(energy)), channels


def _blocks(container: "InputContainer", stream: "AudioStream") -> Iterator[NDArray[np.float32]]:
    """Decode into blocks of shape (channels, n) until the end or the first broken place."""
    import av

    resampler = None
    try:
        for frame in container.decode(stream):
            if resampler is None:
                resampler = av.AudioResampler(format="flt", layout=frame.layout, rate=frame.rate)
            for piece in resampler.resample(frame):
                yield _by_channel(piece)
    except (av.error.FFmpegError, ValueError):
        # What came before a broken place is still evidence; the caller sees the missing end.
        return
    if resampler is not None:
        for piece in resampler.resample(None):
            yield _by_channel(piece)


def _by_channel(frame: "AudioFrame") -> NDArray[np.float32]:
    """Give a packed frame's samples by channel.

    Packed, because frames keep the addresses of at most eight planes at hand.
    """
    packed = np.asarray(frame.to_ndarray(), np.float32)
    return packed.reshape(-1, frame.layout.nb_channels).T


class _Chunks:
    """Collects one channel while decoding, within the bounds."""

    def __init__(self, name: str, max_duration_s: float) -> None:
        self.name = name
        self.max_duration_s = max_duration_s
        self.rate_hz = 0
        self.parts: list[NDArray[np.float32]] = []

    def fill(self, container: "InputContainer", stream: "AudioStream", channel: int) -> bool:
        """Decode to the end; False when the file says it is longer than what could be read."""
        self.rate_hz = stream.rate
        count = 0
        limit = min((self.max_duration_s + 0.5) * self.rate_hz, MAX_SAMPLES)
        for block in _blocks(container, stream):
            self.parts.append(block[min(channel, block.shape[0] - 1)].copy())
            count += block.shape[1]
            if count > limit:
                raise InputError(
                    f"{self.name} holds more than {limit / self.rate_hz / 60:,.0f} minutes of "
                    "sound; cut out the part with the run"
                )
        stated = stream.duration * stream.time_base if stream.duration and stream.time_base else 0
        return count >= 0.98 * float(stated) * self.rate_hz - 4096

    def joined(self) -> NDArray[np.float32]:
        if not self.parts:
            raise UnreadableFileError(
                f"{self.name} breaks off before the first sound or holds none; {_ADVICE}"
            )
        samples = np.concatenate(self.parts)
        self.parts.clear()
        if not np.isfinite(samples).all():
            raise UnreadableFileError(
                f"{self.name} holds samples that are not finite numbers; record again"
            )
        return np.ascontiguousarray(samples, dtype=np.float32)
