"""Reads any audio or phone-video file into a `Recording`, within bounds.

The container is told by its content, never by its name. Formats that point at other files are left
out, so that a file handed in by a stranger can only be itself.
"""

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from math import isfinite
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, TypeAlias

import numpy as np
from numpy.typing import NDArray

from turnwell.errors import InputError, UnreadableFileError
from turnwell.sound.recording import HIGHEST_RATE_HZ, LOUDEST, LOWEST_RATE_HZ, Recording

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer

__all__ = ["MAX_BYTES", "MAX_CHANNELS", "MAX_DURATION_S", "MAX_SAMPLES", "read_recording"]

MAX_BYTES = 1_500_000_000
MAX_DURATION_S = 3_600.0
MAX_SAMPLES = 350_000_000  # one hour at 96 kHz
MAX_CHANNELS = 16
_SLACK = 1.5  # a coder's stated bit rate is a mean

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
        If it is no sound file, holds no sound, breaks off before the first sample, may not be
        opened, or is still being written.
    InputError
        If it is larger, longer or has more channels than allowed.
    """
    if isinstance(source, (str, PathLike)):
        path = Path(source)
        name = _shown(path)
        before = _looked_at(path, max_bytes)
        digest = _hash_of(path)
        recording = _decoded(f"file:{path.absolute()}", name, digest, max_duration_s)
        if _looked_at(path, max_bytes) != before:
            raise UnreadableFileError(
                f"{name} changed while it was read; wait until it is written to its end"
            )
        return recording
    name = _shown(Path(str(getattr(source, "name", "the file"))))
    content = _content(source, name, max_bytes)
    with BytesIO(content) as file:
        return _decoded(file, name, sha256(content).hexdigest(), max_duration_s)


def _shown(path: Path) -> str:
    """Give a file's name without what would break a sentence."""
    return "".join(letter if letter.isprintable() else "?" for letter in path.name)


@dataclass(frozen=True, slots=True)
class _Look:
    """Size and last change of a file."""

    size: int
    changed_ns: int


def _looked_at(path: Path, max_bytes: int) -> _Look:
    """Look at a file from outside, and refuse what cannot be one recording."""
    try:
        if not path.is_file():
            what = "is no file" if path.exists() else "does not exist"
            what = "is a folder" if path.is_dir() else what
            raise UnreadableFileError(f"{_shown(path)} {what}; give the path of a sound file")
        stat = path.stat()
    except UnreadableFileError:
        raise
    except (OSError, ValueError) as error:
        raise _unopened(path, error) from error
    _check_size(_shown(path), stat.st_size, max_bytes)
    return _Look(stat.st_size, stat.st_mtime_ns)


def _unopened(path: Path, error: OSError | ValueError) -> UnreadableFileError:
    why = getattr(error, "strerror", None) or str(error)
    return UnreadableFileError(
        f"{_shown(path)} cannot be opened ({why}); check its name and that you may read it"
    )


def _content(source: BinaryIO, name: str, max_bytes: int) -> bytes:
    """Read an open file from its beginning."""
    try:
        source.seek(0)
        content = source.read(max_bytes + 1)
    except (OSError, ValueError) as error:
        raise UnreadableFileError(
            f"{name} cannot be read from its beginning ({error}); give the path of a file"
        ) from error
    if not isinstance(content, bytes):
        raise UnreadableFileError(f"{name} is opened as text; open it to read bytes")
    _check_size(name, len(content), max_bytes)
    return content


def _decoded(content: str | BytesIO, name: str, digest: str, max_duration_s: float) -> Recording:
    """Decode an address or the bytes of a file."""
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
            kept = _Kept(name, stream.rate, _stated_s(container, stream), max_duration_s)
            is_whole = kept.fill(container, stream, channel)
            return Recording(
                samples=kept.samples(),
                rate_hz=float(stream.rate),
                codec=stream.codec_context.name,
                channels=channels,
                sha256=digest,
                history=(f"read from {name}, channel {channel + 1} of {channels}",),
                complete=is_whole and not _claims_more(content, container.size),
            )
    except PermissionError as error:
        raise _unopened(Path(name), error) from error
    except (av.error.FFmpegError, UnicodeError, OverflowError, MemoryError) as error:
        raise UnreadableFileError(f"{name} cannot be read as a sound recording; {_ADVICE}") from (
            error
        )


def _claims_more(content: str | BytesIO, size: int) -> bool:
    """Tell whether a RIFF file names a length that it does not have.

    The decoder quietly takes what is there. 0 and the largest number stand for "not known yet".
    """
    if isinstance(content, BytesIO):
        head = bytes(content.getbuffer()[:8])
    else:
        with Path(content.removeprefix("file:")).open("rb") as file:
            head = file.read(8)
    claimed = int.from_bytes(head[4:], "little")
    return head[:4] == b"RIFF" and claimed not in {0, 0xFFFFFFFF} and claimed + 8 > size + 1


def _check_size(name: str, size: int, max_bytes: int) -> None:
    if size == 0:
        raise UnreadableFileError(f"{name} is empty; {_ADVICE}")
    if size > max_bytes:
        raise InputError(
            f"{name} is larger than {max_bytes / 1e6:,.0f} MB; cut out the part with the run"
        )


def _hash_of(path: Path) -> str:
    digest = sha256()
    try:
        with path.open("rb") as file:
            while chunk := file.read(1 << 20):
                digest.update(chunk)
    except OSError as error:
        raise _unopened(path, error) from error
    return digest.hexdigest()


def _stream(container: "InputContainer", name: str, max_duration_s: float) -> "AudioStream":
    """Give the sound stream after checking what the file says about itself."""
    if not container.streams.audio:
        what = "is a video without sound" if container.streams.video else "holds no sound"
        raise UnreadableFileError(f"{name} {what}; record it again with the microphone on")
    stream = container.streams.audio[0]
    if stream.codec_context is None:
        raise UnreadableFileError(f"{name} is coded in a way that cannot be read; {_ADVICE}")
    if not stream.rate:
        raise UnreadableFileError(f"{name} names no sample rate; {_ADVICE}")
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
    stated_s = _stated_s(container, stream)
    if stated_s is not None and _can_be_held(container, stream, stated_s):
        _check_duration(name, stated_s, max_duration_s)
    return stream


def _stated_s(container: "InputContainer", stream: "AudioStream") -> float | None:
    """Give the length that the file states, in s; None where it states none."""
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    # A container of sound alone may state the length of the whole; pictures may outlast the sound.
    if container.duration and not container.streams.video:
        return container.duration / 1e6
    return None


def _can_be_held(container: "InputContainer", stream: "AudioStream", stated_s: float) -> bool:
    """Tell whether the file is large enough for what it states about its length.

    A recorder that was stopped hard leaves a header that claims hours.
    """
    bit_rate = stream.codec_context.bit_rate or 0
    return stated_s * bit_rate / 8.0 <= _SLACK * max(container.size, 0)


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
    import av

    channels = max(stream.channels, 1)
    if channels == 1:
        return 0, 1
    energy = np.zeros(channels)
    limit, seen = int(min(max_duration_s, 60.0) * stream.rate), 0
    # A broken place ends the comparison; what it means is told when the samples are kept.
    with suppress(av.error.FFmpegError, ValueError):
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
    """Decode into blocks of shape (channels, n).

    Raises
    ------
    FFmpegError, ValueError
        At the first broken place.
    """
    import av

    resampler = None
    for frame in container.decode(stream):
        if resampler is None:
            resampler = av.AudioResampler(format="flt", layout=frame.layout, rate=frame.rate)
        for piece in resampler.resample(frame):
            yield _by_channel(piece)
    if resampler is not None:
        for piece in resampler.resample(None):
            yield _by_channel(piece)


def _by_channel(frame: "AudioFrame") -> NDArray[np.float32]:
    """Give a packed frame's samples by channel.

    Packed, because frames keep the addresses of at most eight planes at hand.
    """
    packed = np.asarray(frame.to_ndarray(), np.float32)
    return packed.reshape(-1, frame.layout.nb_channels).T


class _Kept:
    """Keeps one channel while decoding, within the bounds and without holding it twice."""

    def __init__(
        self, name: str, rate_hz: int, stated_s: float | None, max_duration_s: float
    ) -> None:
        self.name = name
        self.rate_hz = rate_hz
        self.stated = int((stated_s or 0.0) * rate_hz)
        self.limit = int(min((max_duration_s + 0.5) * rate_hz, MAX_SAMPLES))
        self.count = 0
        room = min(self.stated, self.limit) + rate_hz
        self.buffer = np.empty(room, np.float32)

    def fill(self, container: "InputContainer", stream: "AudioStream", channel: int) -> bool:
        """Decode to the end; False when the file breaks or is shorter than it says."""
        import av

        try:
            for block in _blocks(container, stream):
                self._keep(block[min(channel, block.shape[0] - 1)])
        except (av.error.FFmpegError, ValueError) as error:
            if isinstance(error, InputError):
                raise
            # What came before a broken place is still evidence.
            return False
        return self.count >= 0.98 * self.stated - 4096

    def _keep(self, part: NDArray[np.float32]) -> None:
        stop = self.count + part.size
        if stop > self.limit:
            raise InputError(
                f"{self.name} holds more than {self.limit / self.rate_hz / 60:,.0f} minutes of "
                "sound; cut out the part with the run"
            )
        # Told block by block: a mask of the whole would cost a quarter of it again.
        largest = float(np.abs(part).max(initial=0.0))
        if not largest <= LOUDEST:
            what = (
                f"reaches {largest:.3g} times full scale"
                if isfinite(largest)
                else "holds samples that are not finite numbers"
            )
            raise UnreadableFileError(f"{self.name} {what}; record again")
        if stop > self.buffer.size:
            grown = np.empty(max(stop, self.buffer.size * 3 // 2), np.float32)
            grown[: self.count] = self.buffer[: self.count]
            self.buffer = grown
        self.buffer[self.count : stop] = part
        self.count = stop

    def samples(self) -> NDArray[np.float32]:
        if self.count == 0:
            raise UnreadableFileError(
                f"{self.name} breaks off before the first sound or holds none; {_ADVICE}"
            )
        kept = self.buffer[: self.count]
        # Far less came than was made room for: do not keep the rest in memory.
        return kept.copy() if 2 * self.count < self.buffer.size else kept
