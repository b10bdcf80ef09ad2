"""Files as they come in: made here, with the standard library and general coders."""

import struct
import wave
import zipfile
import zlib
from io import BytesIO

import av
import numpy as np
from PIL import Image

__all__ = [
    "bomb_png",
    "m4a_with_place",
    "photo_with_place",
    "silent_video",
    "tone",
    "wav",
    "zip_of_text",
]

RATE_HZ = 48_000


def tone(hz: float, seconds: float, *, rate_hz: int = RATE_HZ) -> np.ndarray:
    """Give a steady tone with two overtones and a little noise."""
    time_s = np.arange(int(seconds * rate_hz)) / rate_hz
    lines = ((1.0, 1), (0.4, 2), (0.25, 3))
    sound = sum(a * np.cos(2 * np.pi * k * hz * time_s + k) for a, k in lines)
    noise = np.random.default_rng(7).standard_normal(time_s.size)
    return (0.25 * sound + 0.02 * noise).astype(np.float64)


def wav(samples: np.ndarray, *, rate_hz: int = RATE_HZ) -> bytes:
    """Give samples as 16-bit WAV."""
    target = BytesIO()
    with wave.open(target, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(np.rint(np.clip(samples, -1, 1) * 32_767).astype("<i2").tobytes())
    return target.getvalue()


def m4a_with_place(samples: np.ndarray, place: str = "+12.3456-098.7654/") -> bytes:
    """Give samples as MP4 sound, with place and time as a phone writes them."""
    target = BytesIO()
    with av.open(target, "w", format="mp4", options={"movflags": "use_metadata_tags"}) as output:
        output.metadata["location"] = place
        output.metadata["com.apple.quicktime.location.ISO6709"] = place
        output.metadata["creation_time"] = "2024-05-06T07:08:09.000000Z"
        stream = output.add_stream("aac", rate=RATE_HZ)
        stream.layout = "mono"
        stream.bit_rate = 128_000
        for begin in range(0, samples.size, 1_024):
            block = samples[begin : begin + 1_024].astype(np.float32)
            frame = av.AudioFrame.from_ndarray(block[None], format="fltp", layout="mono")
            frame.sample_rate = RATE_HZ
            frame.pts = begin
            output.mux(stream.encode(frame))
        output.mux(stream.encode(None))
    return target.getvalue()


def silent_video() -> bytes:
    """Give a video that has no sound stream."""
    target = BytesIO()
    with av.open(target, "w", format="mp4") as output:
        stream = output.add_stream("mpeg4", rate=25)
        stream.width = stream.height = 64
        stream.pix_fmt = "yuv420p"
        for shade in range(20):
            picture = np.full((64, 64, 3), shade * 10, np.uint8)
            output.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        output.mux(stream.encode(None))
    return target.getvalue()


def photo_with_place(kind: str = "JPEG", *, size: tuple[int, int] = (600, 400)) -> bytes:
    """Give a photo that lies on its side, with place, time and camera in its EXIF."""
    photo = Image.new("RGB", size, "white")
    photo.paste((200, 30, 30), (0, 0, size[0] // 2, size[1]))  # left half red
    exif = Image.Exif()
    exif[0x0112] = 6  # turn by 90° clockwise to see it upright
    exif[0x0132] = "2024:05:06 07:08:09"
    exif[0x010F] = "Invented Camera"
    gps = exif.get_ifd(0x8825)
    gps[1], gps[2] = "N", (12.0, 20.0, 44.16)
    gps[3], gps[4] = "W", (98.0, 45.0, 55.44)
    target = BytesIO()
    photo.save(target, format=kind, exif=exif)
    return target.getvalue()


def bomb_png(width: int = 60_000, height: int = 60_000) -> bytes:
    """Give a PNG of a few kilobytes that says it holds 3.6 thousand million points."""

    def chunk(name: bytes, content: bytes) -> bytes:
        check = zlib.crc32(name + content)
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    content = zlib.compress(b"\0" * 1_000_000)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", content) + chunk(b"IEND", b"")
    )


def zip_of_text() -> bytes:
    """Give a ZIP archive."""
    target = BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("notes.txt", "not a sound " * 100)
    return target.getvalue()
