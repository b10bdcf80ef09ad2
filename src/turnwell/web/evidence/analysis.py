"""What is found out about received files, and the copies made to be handed out.

Runs in the worker processes of `turnwell.web.evidence.bounded` and so knows neither Django nor the
database: paths and JSON values in, JSON values out.

References
----------
EXIF 2.32 (CIPA DC-008), tag 0x0112 orientation; Pillow turns the picture by it.
"""

import os
import wave
from collections.abc import Callable
from dataclasses import replace
from math import radians
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from turnwell.errors import InputError, UnreadableFileError

if TYPE_CHECKING:
    from PIL import Image

    from turnwell.sound import Bearing, Recording
    from turnwell.steam import Cycle
    from turnwell.steam.load.items import Load
    from turnwell.steam.reading import Proposal
    from turnwell.words import Message

__all__ = ["LONGEST_RECORDING_S", "MOST_PIXELS", "TASKS"]

LONGEST_RECORDING_S = 600.0
MOST_PIXELS = 64_000_000
MOST_TRACK_POINTS = 4_000
PHOTO_TYPES = {
    "JPEG": "image/jpeg",
    "MPO": "image/jpeg",  # a JPEG with further pictures behind it, opened by way of JPEG
    "PNG": "image/png",
    "WEBP": "image/webp",
}
SOUND_TYPES = {
    "wav": "audio/wav",
    "w64": "audio/wav",
    "aiff": "audio/aiff",
    "flac": "audio/flac",
    "mp3": "audio/mpeg",
    "aac": "audio/aac",
    "ogg": "audio/ogg",
    "amr": "audio/amr",
}
_PHOTO_ADVICE = "send the photo as JPEG, PNG or WebP"


def ready() -> bool:
    """Load what the other tasks need."""
    import av
    from PIL import ImageOps

    from turnwell import sound

    return bool(av.library_versions) and ImageOps is not None and sound is not None


def recording_facts(path: str, name: str) -> dict[str, Any]:
    """Read a recording to its end and give its media type, length, rate and coding."""
    recording = _recording(path, name)
    return {
        "media_type": _media_type(path),
        "duration_s": recording.duration_s,
        "rate_hz": recording.rate_hz,
        "codec": recording.codec,
    }


def recording_copy(path: str, name: str, target: str) -> None:
    """Write the channel that is listened to as plain WAV: sound, and nothing about place or time.

    24-bit samples hold anything a microphone gives; a video's pictures stay behind.
    """
    recording = _recording(path, name)
    whole = np.rint(np.clip(recording.samples, -1.0, 1.0) * 8_388_607.0).astype("<i4")
    part = Path(target)
    with wave.open(os.fspath(part), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(3)
        file.setframerate(round(recording.rate_hz))
        for begin in range(0, whole.size, 1 << 20):
            block = whole[begin : begin + (1 << 20)]
            file.writeframes(block.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def listen(path: str, name: str, expectation: dict[str, Any]) -> dict[str, Any]:
    """Listen to a recording and give the core's document, its readings and its version."""
    from turnwell.measure import Basis, Limit
    from turnwell.sound import Expectation, analyse
    from turnwell.sound.agreement import SpeedPair, agreement_of

    known = dict(expectation)
    if (limit := known.pop("speed_limit")) is not None:
        known["speed_limit"] = Limit(**limit | {"basis": Basis(limit["basis"])})
    if (speeds := known.pop("class_speed_range_rpm")) is not None:
        known["class_speed_range_rpm"] = (speeds[0], speeds[1])
    for key in ("baseline_coast_down_s", "baseline_roughness_db"):
        if (baseline := known.pop(key, None)) is not None:
            known[key] = tuple(baseline)
    pairs = [SpeedPair(*pair) for pair in known.pop("own_check", ())]
    known["own_check"] = agreement_of(pairs)
    bearing = known.pop("bearing", None)
    awaited = Expectation(**known)
    # It carries the bur: behind a gear, the shaft that is heard turns in another one.
    if bearing is not None and not awaited.is_geared:
        awaited = replace(awaited, bearing=_bearing(bearing))
    listening = analyse(_recording(path, name), awaited)
    document = listening.as_dict()
    step = -(-len(document["track"]["time_s"]) // MOST_TRACK_POINTS) or 1
    document["track"] = {key: values[::step] for key, values in document["track"].items()}
    return {
        "listening": document,
        "readings": [reading.as_record() for reading in listening.readings],
        "version": listening.version,
    }


def _bearing(figures: dict[str, Any]) -> "Bearing":
    """Give a bearing of figures as people read them off, in mm and degrees."""
    from turnwell.sound import Bearing

    return Bearing(
        figures["balls"],
        ball_m=figures["ball_mm"] / 1e3,
        pitch_m=figures["pitch_mm"] / 1e3,
        contact_rad=radians(figures["contact_deg"]),
    )


def photo_facts(path: str, name: str) -> dict[str, Any]:
    """Decode a photo to its end and give its media type and size."""
    with _photo(path, name) as photo:
        _load(photo, name)
        return {
            "media_type": PHOTO_TYPES[str(photo.format)],
            "width_px": photo.width,
            "height_px": photo.height,
        }


def photo_copy(path: str, name: str, target: str, longest_px: int) -> None:
    """Write a photo as JPEG of at most that many pixels a side, turned upright, and nothing else.

    Place, time, camera and the small picture a camera hides in the file are not taken over.
    """
    from PIL import Image, ImageOps

    with _photo(path, name) as photo:
        photo.draft("RGB", (longest_px, longest_px))
        _load(photo, name)
        upright = ImageOps.exif_transpose(photo)
        upright.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
        clear = upright.convert("RGBA") if _has_clear_parts(upright) else None
        plain = Image.new("RGB", upright.size, "white")
        if clear is None:
            plain.paste(upright.convert("RGB"))
        else:
            plain.paste(clear, mask=clear.getchannel("A"))
        plain.save(target, format="JPEG", quality=88)


def _recording(path: str, name: str) -> "Recording":
    """Read a recording; a refusal calls it by the name that people know."""
    from turnwell.sound import read_recording

    try:
        return read_recording(path, max_duration_s=LONGEST_RECORDING_S)
    except InputError as error:
        raise type(error)(str(error).replace(Path(path).name, name)) from error


def _media_type(path: str) -> str:
    """Tell a sound or video file's media type by its content."""
    import av

    with av.open(path) as container:
        formats = container.format.name.split(",")
        has_pictures = bool(container.streams.video)
    if "mp4" in formats:
        return "video/mp4" if has_pictures else "audio/mp4"
    if "webm" in formats:
        return "video/webm" if has_pictures else "audio/webm"
    return SOUND_TYPES.get(formats[0], "application/octet-stream")


def _photo(path: str, name: str) -> "Image.Image":
    """Open a photo, its size checked before anything is decoded."""
    from PIL import Image

    # The bound is checked below, with a sentence; Pillow's own would warn first.
    Image.MAX_IMAGE_PIXELS = None
    try:
        photo = Image.open(path, formats=("JPEG", "PNG", "WEBP"))
    except (OSError, SyntaxError, ValueError) as error:
        raise UnreadableFileError(
            f"{name} is no photo that can be read here; {_PHOTO_ADVICE}"
        ) from (error)
    if photo.width * photo.height > MOST_PIXELS:
        size = f"{photo.width:,} × {photo.height:,}"
        photo.close()
        raise InputError(
            f"{name} has {size} points, at most {MOST_PIXELS // 1_000_000} million are read; "
            "send it smaller"
        )
    return photo


def _load(photo: "Image.Image", name: str) -> None:
    """Decode the whole photo."""
    try:
        photo.load()
    except (OSError, SyntaxError, ValueError) as error:
        raise UnreadableFileError(
            f"{name} breaks off or is damaged ({error}); send it again"
        ) from error


def _has_clear_parts(photo: "Image.Image") -> bool:
    return photo.mode in {"RGBA", "LA", "PA"} or "transparency" in photo.info


def record_proposal(path: str, name: str, altitude_m: float | None) -> dict[str, Any]:
    """Look at the table of a cycle record and give what its columns seem to be."""
    from turnwell.steam.reading import propose

    content = Path(path).read_bytes()
    return _proposed(propose(content, name, atmosphere_kpa=_atmosphere_kpa(altitude_m)))


def review(
    path: str,
    name: str,
    altitude_m: float | None,
    *,
    layouts: list[dict[str, Any]],
    cycle: dict[str, Any],
    sensors: dict[str, float],
    load: dict[str, Any] | None,
) -> dict[str, Any]:
    """Read a cycle record and review it, or give what about its columns has to be asked first."""
    from turnwell.steam import Sensors
    from turnwell.steam.analyse import analyse
    from turnwell.steam.reading import Layout, UnsureLayoutError, read_record

    content, known = Path(path).read_bytes(), map(Layout.from_record, layouts)
    layout = next((one for one in known if one.fits(content, name)), None)
    try:
        record = read_record(
            content,
            name,
            layout=layout,
            atmosphere_kpa=_atmosphere_kpa(altitude_m),
        )
    except UnsureLayoutError as error:
        asked = _proposed(error.proposal)
        return {"asks": asked, "why": " ".join(one["text"] for one in asked["questions"])}
    answer = analyse(
        record, _steam_cycle(cycle), sensors=Sensors(**sensors), load=_steam_load(load)
    )
    return {
        "review": answer.as_dict(),
        "readings": [reading.as_record() for reading in answer.readings],
        "version": answer.version,
        "layout": None if layout is None else layout.as_record(),
    }


def _proposed(proposal: "Proposal") -> dict[str, Any]:
    """Give a proposal as JSON values, what is said in it as the sentences of a page."""
    from turnwell.words import text_of

    return {
        "layout": proposal.layout.as_record(),
        "columns": [
            {
                "number": one.number,
                "heading": one.heading,
                "role": one.role,
                "told_by": text_of(one.told_by),
            }
            for one in proposal.columns
        ],
        "questions": [{"key": one.key, "text": _asked(one.text)} for one in proposal.questions],
        "rows": [list(row) for row in proposal.rows],
    }


def _asked(question: "Message") -> str:
    """Put a question as a page does, which has fields where a command line has options."""
    from turnwell.words import Message, text_of

    key = question.key.rpartition(".")[2]
    return text_of(Message(f"sterilizers.ask.{key}", question.params))


def _atmosphere_kpa(altitude_m: float | None) -> float:
    """Give the pressure of the place, of sea level where nobody says how high it lies."""
    from turnwell.steam.water import atmosphere_kpa

    return float(atmosphere_kpa(altitude_m or 0.0))


def _steam_cycle(said: dict[str, Any]) -> "Cycle":
    from turnwell.measure import Basis, Limit
    from turnwell.steam import AirRemoval, Cycle

    known = dict(said)
    if known.get("air_removal") is not None:
        known["air_removal"] = AirRemoval(known["air_removal"])
    if (limit := known.get("drying_pressure")) is not None:
        known["drying_pressure"] = Limit(**limit | {"basis": Basis(limit["basis"])})
    if "basis" in known:
        known["basis"] = Basis(known["basis"])
    return Cycle(**known)


def _steam_load(said: dict[str, Any] | None) -> "Load | None":
    from turnwell.steam.load.items import Load, LoadItem

    if said is None:
        return None
    items = tuple(LoadItem(**item) for item in said["items"])
    return Load(items, pouches=said["pouches"], water_before_g=said["water_before_g"])


TASKS: dict[str, Callable[..., Any]] = {
    "ready": ready,
    "recording_facts": recording_facts,
    "recording_copy": recording_copy,
    "listen": listen,
    "photo_facts": photo_facts,
    "photo_copy": photo_copy,
    "record_proposal": record_proposal,
    "review": review,
}
