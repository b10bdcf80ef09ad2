"""Whatever is handed in is read, or refused in one clear sentence, within bounds."""

import os
import struct
import tracemalloc
import zipfile
from fractions import Fraction
from io import BytesIO, StringIO
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from tests.sound.test_decode import FILES, KINDS, RATE_HZ, TONE, wav
from turnwell.errors import InputError, TurnwellError, UnreadableFileError
from turnwell.sound import Expectation, analyse, decode, read_recording, recording_of

ADVICE = ("send", "record", "give", "cut out", "export", "check", "wait", "open it", "divide")


def sentence_of(source, **bounds):
    """Read, and give the sentence of the refusal after judging its form."""
    with pytest.raises(InputError) as caught:
        read_recording(source, **bounds)
    said = str(caught.value)
    assert "\n" not in said
    assert len(said) < 200
    assert any(word in said for word in ADVICE), said
    return said


def renamed(folder: Path, name: str, content: bytes) -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


def zipped():
    target = BytesIO()
    with zipfile.ZipFile(target, "w") as archive:
        archive.writestr("run.wav", FILES["wav"][:2_000])
    return target.getvalue()


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("run.wav", b""),
        ("run.wav", b"It ran well.\n" * 400),
        ("run.mp3", zipped()),
        ("run.m4a", b"MZ\x90\x00" + bytes(60) + b"PE\x00\x00" + bytes(4_000)),
        ("run.flac", b"\x7fELF" + bytes(4_000)),
        ("run.ogg", b"<!DOCTYPE html><title>Sign in</title>"),
    ],
)
def test_another_kind_of_file_under_a_sound_files_name(tmp_path, name, content):
    said = sentence_of(renamed(tmp_path, name, content))
    assert name in said
    assert "WAV" in said


@pytest.mark.parametrize("kind", KINDS)
def test_the_extension_says_nothing(tmp_path, kind):
    path = renamed(tmp_path, "notes.txt", FILES[kind])
    assert read_recording(path).duration_s == pytest.approx(2.0, abs=0.06)


def test_what_is_no_file(tmp_path):
    assert "is a folder" in sentence_of(tmp_path)
    assert "does not exist" in sentence_of(tmp_path / "none.wav")
    assert "a?b.wav does not exist" in sentence_of("a\0b.wav")
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        # Opening it would wait for ever.
        assert "is no file" in sentence_of(tmp_path / "pipe")


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    path = renamed(tmp_path, "run.wav", FILES["wav"])

    def refused(*_args, **_kwargs):
        raise PermissionError(13, "Permission denied", str(path))

    # An administrator may read everything, so the refusal of the system is played.
    monkeypatch.setattr(Path, "open", refused)
    said = sentence_of(path)
    assert "run.wav cannot be opened (Permission denied)" in said
    assert str(tmp_path) not in said


def test_a_file_that_grows_meanwhile(tmp_path, monkeypatch):
    path = renamed(tmp_path, "run.wav", FILES["wav"])
    plain = decode._hash_of

    def and_then_grow(of):
        digest = plain(of)
        with path.open("ab") as file:
            file.write(bytes(2_000))
        return digest

    monkeypatch.setattr(decode, "_hash_of", and_then_grow)
    assert "wait until it is written" in sentence_of(path)


def test_an_open_file_that_gives_no_bytes():
    assert "opened as text" in sentence_of(StringIO("run"))

    class Pipe(BytesIO):
        def seek(self, *_args):
            raise OSError("it is a pipe")

    assert "from its beginning" in sentence_of(Pipe(FILES["wav"]))


@pytest.mark.parametrize("samples", [0, 1, 2_400])
def test_next_to_nothing(samples):
    # Nothing, one sample, 0.05 s.
    content = BytesIO(wav(TONE[:samples]))
    if samples == 0:
        assert "holds none" in sentence_of(content)
        return
    listening = analyse(read_recording(content))
    assert "too_short" in [finding.key for finding in listening.gate]
    assert not listening.answered


@pytest.mark.parametrize("value", [0.0, 0.25, -1.0])
def test_one_constant_value(value):
    listening = analyse(read_recording(BytesIO(wav(np.full(RATE_HZ, value)))))
    assert [finding.key for finding in listening.gate] == ["silent"]
    assert not listening.answered


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_values_that_are_no_numbers(value):
    samples = TONE.copy()
    samples[-1] = value
    assert "not finite numbers" in sentence_of(BytesIO(wav(samples)))
    with pytest.raises(InputError, match="not finite numbers"):
        recording_of(samples, RATE_HZ)


def test_values_far_beyond_full_scale():
    assert "1e+30 times full scale" in sentence_of(BytesIO(wav([0.0, 1e30])))
    with pytest.raises(InputError, match=r"32,767.*divide"):
        recording_of([0, 32_767], RATE_HZ)
    with pytest.raises(InputError, match="not finite"):
        recording_of([1e300], RATE_HZ)


@pytest.mark.parametrize("samples", [["a"], [None], [1j], [[1.0], [1.0, 2.0]], 0.5, "run"])
def test_what_is_no_list_of_numbers(samples):
    with pytest.raises(InputError, match="samples"):
        recording_of(samples, RATE_HZ)


@pytest.mark.parametrize("rate_hz", [0.0, -1.0, 3_999.0, 768_001.0, float("nan"), float("inf")])
def test_rates_that_are_none(rate_hz):
    with pytest.raises(InputError, match=r"rate_hz is .* must be 4000 to 768000"):
        recording_of([0.0], rate_hz)


def test_one_bit_is_answered_and_named():
    # The sign of a tone in noise still turns at the tone's speed.
    noise = 0.4 * np.random.default_rng(2).standard_normal(TONE.size)
    listening = analyse(read_recording(BytesIO(wav(0.9 * np.sign(TONE + noise)))))
    assert listening.readings[0].value == pytest.approx(384_000.0, rel=1e-3)
    assert {"coarse", "clipped"} <= {finding.key for finding in listening.gate}


def test_384_khz_and_12_channels():
    rate_hz = 384_000
    time_s = np.arange(rate_hz) / rate_hz
    rng = np.random.default_rng(1)
    samples = 0.001 * rng.standard_normal((rate_hz, 12)).astype(np.float32)
    samples[:, 7] += 0.4 * np.cos(2 * np.pi * 6_400.0 * time_s)
    recording = read_recording(BytesIO(wav(samples.ravel(), rate_hz, channels=12)))
    assert (recording.rate_hz, recording.channels) == (384_000.0, 12)
    assert analyse(recording).readings[0].value == pytest.approx(384_000.0, rel=1e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_a_stop_in_the_middle_of_a_frame(kind):
    # An odd number of bytes, so that no sample or packet ends there.
    content = FILES[kind][: len(FILES[kind]) * 2 // 3 | 1]
    if kind in {"m4a", "mp4"}:
        # Their table of contents stands at the end, and is gone.
        sentence_of(BytesIO(content))
        return
    recording = read_recording(BytesIO(content))
    assert 0.5 < recording.duration_s < 2.0
    assert np.abs(recording.samples).max() <= 1.0
    # Ogg states its length on its last page: a clean cut there is not seen.
    assert recording.complete == (kind == "opus")


def test_a_broken_place_in_the_middle_is_named():
    content = bytearray(FILES["flac"])
    middle = len(content) // 2
    content[middle : middle + 9_000] = bytes(9_000)
    recording = read_recording(BytesIO(bytes(content)))
    assert not recording.complete


def test_a_header_that_claims_hours_does_not_lose_the_second_there_is():
    content = bytearray(wav(TONE))
    content[4:8] = struct.pack("<I", 0x7FFFFF24)
    content[40:44] = struct.pack("<I", 0x7FFFFF00)
    recording = read_recording(BytesIO(bytes(content)))
    assert recording.samples.size == TONE.size
    assert not recording.complete


def test_a_header_that_claims_a_rate_of_zero():
    said = sentence_of(BytesIO(wav(TONE, 0)))
    assert "no sample rate" in said or "cannot be read" in said


def test_six_hours_are_refused_before_they_are_decoded(tmp_path):
    rate_hz, path = 4_000, tmp_path / "night.wav"
    size = 6 * 3_600 * rate_hz * 2
    head = bytearray(wav([], rate_hz, code=1))
    head[40:44] = struct.pack("<I", size)
    path.write_bytes(head)
    os.truncate(path, 44 + size)  # the samples are a hole in the file
    tracemalloc.start()
    try:
        assert "360 minutes, at most 60" in sentence_of(path)
        assert tracemalloc.get_traced_memory()[1] < 20e6
    finally:
        tracemalloc.stop()


def test_decoding_holds_the_samples_once(tmp_path):
    path = renamed(tmp_path, "minute.wav", wav(np.tile(TONE, 30), code=3))
    tracemalloc.start()
    try:
        recording = read_recording(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    # One hour at 48 kHz takes 1.01 times its samples by the system's count, too.
    assert peak < 1.5 * recording.samples.nbytes


def phone_video():
    """Make a video whose pictures come at uneven instants, as a phone in dim light does."""
    target = BytesIO()
    with av.open(target, "w", format="mp4") as output:
        video = output.add_stream("mpeg4", rate=30)
        video.width = video.height = 32
        video.pix_fmt = "yuv420p"
        video.codec_context.time_base = Fraction(1, 1_000)
        sound = output.add_stream("aac", rate=RATE_HZ)
        sound.layout = "mono"
        at = 0
        for index in range(30):
            picture = np.full((32, 32, 3), 8 * index, np.uint8)
            frame = av.VideoFrame.from_ndarray(picture, format="rgb24")
            frame.pts, frame.time_base = at, Fraction(1, 1_000)
            at += 17 + 23 * (index % 5)
            output.mux(video.encode(frame))
        output.mux(video.encode(None))
        whole = np.rint(TONE * 32_767).astype(np.int16)[None]
        frame = av.AudioFrame.from_ndarray(whole, format="s16", layout="mono")
        frame.sample_rate, frame.pts = RATE_HZ, 0
        output.mux(sound.encode(frame))
        output.mux(sound.encode(None))
    return target.getvalue()


def test_a_video_of_uneven_pictures_keeps_its_speed():
    recording = read_recording(BytesIO(phone_video()))
    assert analyse(recording).readings[0].value == pytest.approx(384_000.0, rel=1e-4)


EXPECTATIONS = (
    Expectation(),
    Expectation(handpiece_class="air_turbine_4_hole", label_speed_rpm=400_000.0),
    Expectation(handpiece_class="contra_angle_increasing", ratio=0.2),
)


@settings(max_examples=40, deadline=None)
@given(
    pattern=arrays(
        np.float32,
        st.integers(0, 100),
        elements=st.floats(-100, 100, width=32, allow_subnormal=True),
    ),
    repeats=st.integers(1, 200),
    rate_hz=st.one_of(st.sampled_from([4_000.0, 48_000.0, 768_000.0]), st.floats(4e3, 7.68e5)),
    expectation=st.sampled_from(EXPECTATIONS),
)
def test_any_finite_numbers_are_analysed(pattern, repeats, rate_hz, expectation):
    samples = np.tile(pattern, repeats)
    listening = analyse(recording_of(samples, rate_hz), expectation)
    assert listening.as_dict()["recording"]["duration_s"] == samples.size / rate_hz


def test_a_fall_that_is_heard_on_two_levels_only_is_analysed():
    # Six points of the coarse track on two levels hold a straight line, no curve.
    pattern = np.zeros(116, np.float32)
    pattern[[0, 3, 24]] = 6.0, 9.0, 1.0
    assert analyse(recording_of(np.tile(pattern, 21), 4_000.0)).gate


@settings(max_examples=120, deadline=None)
@given(
    kind=st.sampled_from(KINDS),
    keep=st.floats(0.0, 1.0),
    bits=st.lists(st.tuples(st.floats(0, 0.999), st.integers(0, 7)), max_size=12),
    is_head=st.booleans(),
)
def test_damaged_files_are_read_or_refused(kind, keep, bits, is_head):
    content = bytearray(FILES[kind][: int(keep * len(FILES[kind]))])
    # The head of a file holds what is believed about it: damage is dense there.
    reach = min(len(content), 600) if is_head else len(content)
    for where, bit in bits if reach else []:
        content[int(where * reach)] ^= 1 << bit
    said = ""
    try:
        samples = read_recording(BytesIO(bytes(content))).samples
        assert samples.size > 0
        assert np.isfinite(samples).all()
    except TurnwellError as error:
        said = str(error)
    assert "\n" not in said


def test_a_refusal_of_a_file_is_one_of_the_kinds_of_input():
    with pytest.raises(UnreadableFileError):
        read_recording(BytesIO(b"no sound"))
    assert issubclass(UnreadableFileError, ValueError)
