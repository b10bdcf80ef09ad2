"""Handing files out, and erasing them, on the page."""

import io
import re
import wave

import av
import numpy as np
import pytest
from django.conf import settings
from django.urls import reverse
from PIL import ExifTags, Image

from tests.people import bea_of_birch_lane, olga_the_owner, theo_the_technician
from tests.web.evidence.files import m4a_with_place, photo_with_place, tone, wav
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job
from turnwell.web.evidence import storage
from turnwell.web.evidence.actions import erase_file, store_file
from turnwell.web.evidence.models import StoredFile
from turnwell.web.jobs.models import Finding, FindingPhoto, Recording
from turnwell.web.offices.models import Office

pytestmark = pytest.mark.django_db
PHOTO, RECORDING = StoredFile.Kind.PHOTO, StoredFile.Kind.RECORDING
PLACE = b"+12.3456-098.7654/"


def stored(content, kind, name="IMG at 12 Elm Street.jpg", **more):
    return store_file(
        by=theo_the_technician(), kind=kind, content=io.BytesIO(content), original_name=name, **more
    )


def a_photo(office="Birch Lane", content=None):
    """Give a photo of a finding of a job of an office."""
    file = stored(content or photo_with_place(), PHOTO)
    place, _ = Office.objects.get_or_create(name=office)
    job = a_job(a_handpiece(office=place))
    finding = Finding.objects.create(
        job=job, key="rust_on_races", answer="seen", entered_by=theo_the_technician()
    )
    FindingPhoto.objects.create(finding=finding, file=file)
    return file


def a_recording(content):
    file = stored(content, RECORDING, name="12 Elm Street.m4a")
    test = a_blank_test(a_job())
    Recording.objects.create(test=test, file=file, source="file", entered_by=theo_the_technician())
    return file


def sent(client, user, address, **more):
    client.force_login(user)
    response = client.get(address, **more)
    content = b"".join(response) if response.streaming else response.content
    return response, content


def test_a_photo_goes_out_upright_and_without_place_time_or_camera(client):
    original = photo_with_place()
    with Image.open(io.BytesIO(original)) as before:
        assert before.getexif().get_ifd(ExifTags.IFD.GPSInfo)  # the place is in what came in
    file = a_photo(content=original)
    response, content = sent(client, bea_of_birch_lane(), reverse("file", args=[file.pk]))
    assert response.status_code == 200
    assert response["Content-Type"] == "image/jpeg"
    with Image.open(io.BytesIO(content)) as out:
        assert len(out.getexif()) == 0
        assert out.size == (400, 600)  # was 600 × 400, to be turned by 90°
        red, _, blue = out.getpixel((200, 100))
        assert red - blue > 100  # the left half of the picture as stored is the upper half
        assert out.getpixel((200, 500))[2] > 240
    for secret in (b"Exif", b"GPS", b"2024:05:06", b"Invented Camera"):
        assert secret not in content


def test_the_small_photo_is_small(client):
    file = a_photo(content=photo_with_place(size=(3_000, 2_000)))
    _, content = sent(client, theo_the_technician(), reverse("file-small", args=[file.pk]))
    with Image.open(io.BytesIO(content)) as out:
        assert max(out.size) == 640


def test_a_clear_picture_stands_on_white(client):
    picture = Image.new("RGBA", (50, 50), (0, 0, 0, 0))
    target = io.BytesIO()
    picture.save(target, format="PNG")
    file = a_photo(content=target.getvalue())
    _, content = sent(client, theo_the_technician(), reverse("file", args=[file.pk]))
    with Image.open(io.BytesIO(content)) as out:
        assert min(out.getpixel((25, 25))) > 250


def test_a_recording_goes_out_as_sound_without_place_or_time(client):
    original = m4a_with_place(tone(6_500.0, 1.0))
    assert PLACE in original
    file = a_recording(original)
    response, content = sent(client, bea_of_birch_lane(), reverse("file", args=[file.pk]))
    assert response["Content-Type"] == "audio/wav"
    assert f"recording-{file.pk}.wav" in response["Content-Disposition"]
    assert "Elm Street" not in response["Content-Disposition"]
    assert PLACE not in content
    assert b"2024" not in content
    with av.open(io.BytesIO(content)) as out:
        assert dict(out.metadata) == {}
    with wave.open(io.BytesIO(content)) as out:
        assert (out.getnchannels(), out.getframerate(), out.getsampwidth()) == (1, 48_000, 3)
        raw = np.frombuffer(out.readframes(48_000), np.uint8).reshape(-1, 3).astype(np.int32)
    samples = (raw[:, 0] | raw[:, 1] << 8 | ((raw[:, 2] ^ 0x80) - 0x80) << 16) / 2**23
    # A line of amplitude 0.25 at 6,500 Hz: seen by the discrete Fourier transform, not our core.
    lines = np.abs(np.fft.rfft(samples[:48_000] * np.hanning(samples.size))) / samples.size * 4
    assert np.argmax(lines) == pytest.approx(6_500, abs=1)
    assert lines.max() == pytest.approx(0.25, rel=0.1)


def test_wav_samples_go_out_unchanged(client):
    samples = np.round(tone(3_000.0, 0.2) * 32_767) / 32_768
    file = a_recording(wav(samples * 32_768 / 32_767))
    _, content = sent(client, theo_the_technician(), reverse("file", args=[file.pk]))
    with av.open(io.BytesIO(content)) as out:
        back = np.concatenate([f.to_ndarray()[0] for f in out.decode(audio=0)]) / 2.0**31
    np.testing.assert_allclose(back, samples, atol=2.0**-22)


def test_what_goes_out_is_neither_run_nor_kept_by_the_browser(client):
    file = a_photo()
    response, _ = sent(client, theo_the_technician(), reverse("file", args=[file.pk]))
    assert response["Content-Disposition"].startswith("attachment")
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, no-store"
    assert response["Content-Security-Policy"] == "default-src 'none'; sandbox"


def test_the_shop_gets_a_file_as_it_was_received(client):
    original = photo_with_place()
    file = a_photo(content=original)
    address = reverse("file-as-received", args=[file.pk])
    _, content = sent(client, theo_the_technician(), address)
    assert content == original
    assert sent(client, bea_of_birch_lane(), address)[0].status_code == 403


@pytest.mark.parametrize("name", ["file", "file-small"])
def test_an_office_gets_only_what_belongs_to_its_own_jobs(client, name):
    own, other, loose = a_photo(), a_photo("Elm Square"), stored(photo_with_place("PNG"), PHOTO)
    bea = bea_of_birch_lane()
    assert sent(client, bea, reverse(name, args=[own.pk]))[0].status_code == 200
    for file in (other, loose):
        assert sent(client, bea, reverse(name, args=[file.pk]))[0].status_code == 404


def test_bytes_that_an_office_may_see_do_not_open_the_same_bytes_elsewhere(client):
    own, other = a_photo(), a_photo("Elm Square")
    assert own.sha256 == other.sha256
    bea = bea_of_birch_lane()
    assert sent(client, bea, reverse("file", args=[other.pk]))[0].status_code == 404


@pytest.mark.parametrize("name", ["file", "file-small", "file-as-received", "file-erase"])
def test_nobody_gets_anything_without_signing_in(client, name):
    file = a_photo()
    response = client.get(reverse(name, args=[file.pk]))
    assert response.status_code == 302
    assert reverse("sign-in") in response["Location"]


@pytest.mark.parametrize("name", ["file", "file-small", "file-as-received"])
def test_files_are_read_only(client, name):
    client.force_login(olga_the_owner())
    assert client.post(reverse(name, args=[a_photo().pk])).status_code == 405


@pytest.mark.django_db(transaction=True)
def test_an_erased_file_is_gone_with_its_copies(client):
    file = a_photo()
    for name in ("file", "file-small"):
        sent(client, theo_the_technician(), reverse(name, args=[file.pk]))
    copies = settings.EVIDENCE_ROOT.parent / "copies"
    assert len([path for path in copies.rglob("*") if path.is_file()]) == 2
    erase_file(by=olga_the_owner(), file=file, why="A patient is in the picture")
    assert not [path for path in copies.rglob("*") if path.is_file()]
    for name in ("file", "file-small", "file-as-received"):
        response, content = sent(client, theo_the_technician(), reverse(name, args=[file.pk]))
        assert response.status_code == 410
        assert b"olga" in content
    response, content = sent(client, bea_of_birch_lane(), reverse("file", args=[file.pk]))
    assert response.status_code == 410
    assert b"A patient" not in content


def test_missing_bytes_are_said_not_shown_as_a_failure(client):
    file = a_photo()
    storage.path_of(file.sha256).unlink()
    response, content = sent(client, theo_the_technician(), reverse("file", args=[file.pk]))
    assert response.status_code == 503
    assert b"missing from the data folder" in content


def test_the_erase_page_asks_why(client):
    file = a_photo()
    client.force_login(olga_the_owner())
    address = reverse("file-erase", args=[file.pk])
    assert b"cannot be undone" in client.get(address).content
    refused = client.post(address, {"why": "  "})
    assert refused.status_code == 422
    assert not StoredFile.objects.get(pk=file.pk).is_erased
    client.post(address, {"why": "blurred <b>twice</b>"})
    file.refresh_from_db()
    assert (file.is_erased, file.erased_by, file.erased_why) == (
        True,
        olga_the_owner(),
        "blurred <b>twice</b>",
    )
    assert b"&lt;b&gt;twice" in client.get(address).content


def test_who_may_not_erase_is_told(client):
    file = store_file(
        by=olga_the_owner(),
        kind=PHOTO,
        content=io.BytesIO(photo_with_place()),
        original_name="<script>.jpg",
    )
    client.force_login(theo_the_technician())
    address = reverse("file-erase", args=[file.pk])
    shown = client.get(address).content.decode()
    assert "Only the owner and olga" in shown
    assert not re.search("<script>.jpg", shown)
    assert client.post(address, {"why": "because"}).status_code == 422
    assert not StoredFile.objects.get(pk=file.pk).is_erased
    client.force_login(bea_of_birch_lane())
    assert client.post(address, {"why": "because"}).status_code == 403
