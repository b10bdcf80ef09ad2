"""Files of every kind: read, or refused in one sentence, within bounds of size and length."""

import struct
import zipfile
from hashlib import sha256
from io import BytesIO

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sound.truth import encoded
from turnwell.errors import InputError, UnreadableFileError
from turnwell.sound import analyse, read_recording

RATE_HZ = 48_000
TONE = (
    0.4 * np.cos(2 * np.pi * 6_400.0 * np.arange(2 * RATE_HZ) / RATE_HZ)
    + 0.01 * np.random.default_rng(1).standard_normal(2 * RATE_HZ)
).astype(np.float32)
KINDS = ("wav", "flac", "mp3", "m4a", "mp4", "opus", "webm")
FILES = {kind: encoded(TONE, RATE_HZ, kind, bit_rate=96_000) for kind in KINDS}


def wav(samples, rate_hz=RATE_HZ, *, channels=1, code=3):
    """Write a RIFF file by hand: code 1 is 16-bit whole numbers, 3 is 32-bit floats."""
    kind = {1: "<i2", 3: "<f4"}[code]
    payload = np.asarray(samples).astype(kind).tobytes()
    width = np.dtype(kind).itemsize
    head = struct.pack("<HHIIHH", code, channels, rate_hz, rate_hz * channels * width, 0, 8 * width)
    head = head[:12] + struct.pack("<HH", channels * width, 8 * width)
    body = b"WAVEfmt " + struct.pack("<I", 16) + head + b"data" + struct.pack("<I", len(payload))
    return b"RIFF" + struct.pack("<I", len(body) + len(payload)) + body + payload


@pytest.mark.parametrize("kind", KINDS)
def test_facts_of_every_kind(kind):
    recording = read_recording(BytesIO(FILES[kind]))
    assert recording.rate_hz == RATE_HZ
    assert recording.channels == 1
    # A coder may pad its first and last block.
    assert recording.duration_s == pytest.approx(2.0, abs=0.06)
    assert recording.sha256 == sha256(FILES[kind]).hexdigest()
    assert recording.samples.dtype == np.float32
    assert np.sqrt(np.mean(recording.samples**2)) == pytest.approx(0.283, rel=0.1)


def test_lossless_kinds_give_the_samples_back():
    for kind in ("wav", "flac"):
        read = read_recording(BytesIO(FILES[kind])).samples
        assert np.abs(read - TONE).max() < 1.0 / 32_767


def test_a_path_and_an_open_file_give_the_same(tmp_path):
    # The name says nothing: a FLAC file named .mp3 is read as what it is.
    path = tmp_path / "run.mp3"
    path.write_bytes(FILES["flac"])
    by_path = read_recording(path)
    assert by_path.codec == "flac"
    assert np.array_equal(by_path.samples, read_recording(BytesIO(FILES["flac"])).samples)


@pytest.mark.parametrize("channels", [2, 6, 12])
def test_of_several_channels_the_strongest_is_kept(channels):
    samples = np.zeros((TONE.size, channels), np.float32)
    samples[:, 0] = -0.1 * TONE
    samples[:, channels - 1] = TONE
    recording = read_recording(BytesIO(wav(samples.ravel(), channels=channels)))
    assert recording.channels == channels
    assert np.allclose(recording.samples, TONE, atol=1e-6)


def test_opposite_channels_do_not_cancel():
    samples = np.stack([TONE, -TONE], axis=1)
    recording = read_recording(BytesIO(wav(samples.ravel(), channels=2)))
    assert np.abs(recording.samples).max() > 0.3


def test_a_video_without_sound_is_named():
    target = BytesIO()
    with av.open(target, "w", format="mp4") as output:
        stream = output.add_stream("mpeg4", rate=25)
        stream.width = stream.height = 32
        stream.pix_fmt = "yuv420p"
        for _ in range(10):
            picture = av.VideoFrame.from_ndarray(np.zeros((32, 32, 3), np.uint8), format="rgb24")
            output.mux(stream.encode(picture))
        output.mux(stream.encode(None))
    with pytest.raises(UnreadableFileError, match="is a video without sound"):
        read_recording(BytesIO(target.getvalue()))


def zipped():
    target = BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("run.wav", FILES["wav"][:2_000])
    return target.getvalue()


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"hello, I am no sound\n" * 50,
        b"\x00" * 5_000,
        b"\x89PNG\r\n\x1a\n" + b"\x00" * 500,
        zipped(),
        b"%PDF-1.7\n" + b"x" * 1_000,
        b"RIFF\x00\x00\x00\x00WAVE",
        wav([])[:44],
        b"#EXTM3U\n#EXTINF:10,\nfile:///etc/passwd\n",
        b"ffconcat version 1.0\nfile /etc/passwd\n",
    ],
)
def test_what_is_no_sound_gets_one_sentence(content):
    with pytest.raises(UnreadableFileError) as caught:
        read_recording(BytesIO(content))
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 200


def test_missing_file_and_folder(tmp_path):
    with pytest.raises(UnreadableFileError, match="does not exist"):
        read_recording(tmp_path / "none.wav")
    with pytest.raises(UnreadableFileError, match="is a folder"):
        read_recording(tmp_path)
    with pytest.raises(UnreadableFileError):
        read_recording("a\0b.wav")


def test_samples_that_are_no_numbers_are_refused():
    samples = TONE.copy()
    samples[5_000] = np.nan
    with pytest.raises(UnreadableFileError, match="not finite"):
        read_recording(BytesIO(wav(samples)))


def test_bounds_of_size_length_rate_and_channels():
    with pytest.raises(InputError, match="larger than"):
        read_recording(BytesIO(FILES["wav"]), max_bytes=1_000)
    with pytest.raises(InputError, match="minutes"):
        read_recording(BytesIO(FILES["wav"]), max_duration_s=1.0)
    with pytest.raises(InputError, match="1000 samples a second"):
        read_recording(BytesIO(wav(TONE, 1_000)))
    with pytest.raises(InputError, match="channels"):
        read_recording(BytesIO(wav(np.zeros(20 * 100), channels=20)))


def test_the_bound_of_length_holds_against_a_header_that_lies():
    # The header says nothing of a length; the decoder must stop by itself.
    content = bytearray(wav(np.zeros(3 * RATE_HZ)))
    content[40:44] = b"\xff\xff\xff\xff"
    with pytest.raises(InputError, match="minutes"):
        read_recording(BytesIO(bytes(content)), max_duration_s=1.0)


def test_a_cut_file_is_used_and_flagged():
    recording = read_recording(BytesIO(FILES["flac"][: len(FILES["flac"]) // 2]))
    assert not recording.complete
    listening = analyse(recording)
    assert "broken_off" in [finding.key for finding in listening.gate]
    assert listening.readings[0].value == pytest.approx(384_000.0, rel=1e-3)


def _read_or_refuse(content):
    """Read and analyse, or be refused in one line; any other error escapes and fails the test."""
    said = ""
    try:
        analyse(read_recording(BytesIO(content)))
    except InputError as error:
        said = str(error)
    assert "\n" not in said


@settings(max_examples=60, deadline=None)
@given(kind=st.sampled_from(KINDS), share=st.floats(0.0, 1.0), flips=st.lists(st.floats(0, 0.999)))
def test_cut_and_damaged_files_never_escape_as_another_error(kind, share, flips):
    content = bytearray(FILES[kind][: int(share * len(FILES[kind]))])
    for flip in flips[:20]:
        if content:
            content[int(flip * len(content))] ^= 0xFF
    _read_or_refuse(bytes(content))


@settings(max_examples=40, deadline=None)
@given(content=st.binary(max_size=4_000))
def test_random_bytes_never_escape_as_another_error(content):
    _read_or_refuse(content)
