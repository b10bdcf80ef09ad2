"""The recorder of a test, with a fake microphone that plays a run of known speed."""

import re
import wave
from io import BytesIO
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Page, expect

from tests.web.browser.conftest import Opener
from tests.web.evidence.files import silent_video, tone, wav, zip_of_text
from tests.web.jobs.builders import a_blank_test, a_handpiece, a_job, a_model
from turnwell.pictures.bundle import write
from turnwell.web.evidence.queries import open_file
from turnwell.web.jobs.models import Recording

RUN_HZ = 6_500.0
RUN_RPM = RUN_HZ * 60.0
GRANTED = ("--use-fake-ui-for-media-stream",)
A_DEVICE = ("--use-fake-device-for-media-stream",)

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def _own_data_folder(settings, tmp_path):
    settings.EVIDENCE_ROOT = tmp_path / "evidence"


@pytest.fixture(autouse=True, scope="session")
def _unhurried():
    # The first answer waits until a worker and the chart renderer are loaded.
    expect.set_options(timeout=20_000)
    write(settings.CHART_PROGRAM)
    yield
    expect.set_options(timeout=5_000)


@pytest.fixture(scope="session")
def microphone(tmp_path_factory) -> tuple[str, ...]:
    """Give the flags of a microphone that hears a run of 390,000 rpm, over and over in step."""
    path = tmp_path_factory.mktemp("microphone") / "run.wav"
    path.write_bytes(wav(tone(RUN_HZ, 20.0)))
    return (
        *GRANTED,
        *A_DEVICE,
        f"--use-file-for-fake-audio-capture={path}",
    )


@pytest.fixture
def address() -> str:
    test = a_blank_test(a_job(a_handpiece(model=a_model())))
    return f"/jobs/{test.job.code}/tests/{test.pk}/record/"


def button(page: Page, name: str):
    return page.get_by_role("button", name=name, exact=True)


def record(page: Page, seconds: int = 3) -> None:
    button(page, "Record").click()
    until(page, seconds)
    button(page, "Stop").click()


def until(page: Page, seconds: int) -> None:
    expect(page.locator("[data-clock]")).to_have_text(re.compile(rf"0:0[{seconds}-9]"))


def test_three_presses_give_the_speed_of_the_run(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    record(page)
    expect(page.locator("[data-answer] .reading__name").first).to_have_text("Free-running speed")
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    recording = Recording.objects.get()
    speed = recording.readings.get(key="free_running_speed").reading
    assert speed.value == pytest.approx(RUN_RPM, rel=0.005)
    assert recording.source == Recording.Source.BROWSER
    assert recording.is_processed is False
    said = recording.browser_settings
    assert [said[name] for name in ("echoCancellation", "noiseSuppression", "autoGainControl")] == [
        False,
        False,
        False,
    ]
    assert said["lostFrames"] == 0
    assert "deviceId" not in said
    shown = page.locator("[data-answer] .reading__value").first.inner_text()
    assert float(re.sub(r"\D", "", shown.split("rpm")[0])) == pytest.approx(RUN_RPM, rel=0.005)


def test_what_is_kept_is_one_channel_of_plain_sound(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    record(page, 2)
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    with open_file(Recording.objects.get().file) as file, wave.open(file) as sound:
        assert (sound.getnchannels(), sound.getsampwidth()) == (1, 3)
        assert sound.getframerate() == Recording.objects.get().browser_settings["contextRate"]
        seconds = sound.getnframes() / sound.getframerate()
    assert 1.8 < seconds < 15.0


def test_once_more_begins_anew_and_keeps_both(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    record(page, 2)
    button(page, "Record once more").click()
    expect(page.locator("[data-answer] .chart")).to_have_count(0)
    until(page, 2)
    button(page, "Stop").click()
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    assert Recording.objects.count() == 2


def test_everything_goes_by_keyboard(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    button(page, "Record").focus()
    page.keyboard.press("Enter")
    expect(button(page, "Stop")).to_be_focused()
    until(page, 2)
    page.keyboard.press("Space")
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    expect(page.locator("[data-answer]")).to_be_focused()


def test_a_take_with_processing_on_is_flagged(open_page: Opener, microphone, address):
    page = open_page("technician", "/own-password/", flags=microphone)
    page.add_init_script("""
        const told = MediaStreamTrack.prototype.getSettings;
        MediaStreamTrack.prototype.getSettings = function () {
            return {...told.call(this), noiseSuppression: true};
        };
    """)
    page.goto(address)
    record(page, 2)
    expect(page.get_by_text("The browser changed this sound.")).to_be_visible()
    assert Recording.objects.get().is_processed is True


def test_a_lost_connection_keeps_the_take(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    page.route("**/record/", lambda route: route.abort("connectionreset"))
    record(page, 2)
    expect(page.get_by_text("your recording is still on this page")).to_be_visible()
    assert not Recording.objects.exists()
    with page.expect_download() as saved:
        page.get_by_role("link", name="Save to this device").click()
    assert saved.value.suggested_filename.endswith(".wav")
    with wave.open(str(saved.value.path())) as sound:
        assert sound.getnframes() > sound.getframerate()
    page.unroute("**/record/")
    button(page, "Try again").click()
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    assert Recording.objects.count() == 1


def test_a_full_disk_is_said_and_the_take_can_be_sent_again(
    open_page: Opener, microphone, address, monkeypatch
):
    def no_space(*args, **kwargs):
        raise OSError(28, "No space left on device")

    page = open_page("technician", address, flags=microphone)
    monkeypatch.setattr("turnwell.web.evidence.storage.mkstemp", no_space)
    record(page, 2)
    expect(page.get_by_text("The disk of the data folder is full")).to_be_visible()
    monkeypatch.undo()
    button(page, "Try again").click()
    expect(page.locator("[data-answer] .chart")).to_be_visible()


def test_a_refused_microphone_says_what_to_do(open_page: Opener, address):
    page = open_page("technician", address, flags=A_DEVICE)
    button(page, "Record").click()
    expect(page.get_by_text("The microphone is not allowed on this page.")).to_be_visible()
    expect(button(page, "Record")).to_be_focused()


def test_a_missing_microphone_says_what_to_do(open_page: Opener, address):
    page = open_page("technician", address, flags=GRANTED)
    button(page, "Record").click()
    expect(page.get_by_text("No microphone was found.")).to_be_visible()


def test_too_short_a_take_is_not_sent(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone)
    page.evaluate("""() => {
        const stop = document.querySelector("[data-act=stop]");
        new MutationObserver(() => stop.hidden || stop.click()).observe(stop, {attributes: true});
    }""")
    button(page, "Record").click()
    expect(page.get_by_text("That was too short to listen to.")).to_be_visible()
    assert not Recording.objects.exists()


def test_a_file_from_a_phone_is_sent_and_answered(open_page: Opener, address, tmp_path: Path):
    page = open_page("technician", address)
    path = tmp_path / "my <run>.wav"
    path.write_bytes(wav(tone(RUN_HZ, 3.0)))
    page.get_by_label("Or send a file").set_input_files(path)
    button(page, "Send the file").click()
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    assert Recording.objects.get().file.original_name == "my <run>.wav"


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("run.wav", zip_of_text(), "run.wav” cannot be read as a sound recording"),
        ("run.mp4", silent_video(), "run.mp4” is a video without sound"),
        ("run.wav", b"", "run.wav” is empty"),
    ],
)
def test_a_wrong_file_is_refused_in_a_sentence(open_page: Opener, address, name, content, says):
    page = open_page("technician", address)
    page.get_by_label("Or send a file").set_input_files(
        {"name": name, "mimeType": "audio/wav", "buffer": content}
    )
    button(page, "Send the file").click()
    expect(page.get_by_text(says)).to_be_visible()
    assert not Recording.objects.exists()


def test_a_dropped_file_is_sent(open_page: Opener, address):
    page = open_page("technician", address)
    content = list(wav(tone(RUN_HZ, 1.5)))
    page.locator("[data-file-form]").evaluate(
        """(form, content) => {
            const carried = new DataTransfer();
            carried.items.add(new File([new Uint8Array(content)], "dropped.wav"));
            form.dispatchEvent(new DragEvent("drop", {dataTransfer: carried, bubbles: true}));
        }""",
        content,
    )
    expect(page.locator("[data-answer] .chart")).to_be_visible()


def test_without_scripts_a_file_goes_by_a_plain_form(open_page: Opener, address):
    page = open_page("technician", address, java_script_enabled=False)
    expect(button(page, "Record")).to_be_hidden()
    page.get_by_label("Or send a file").set_input_files(
        {"name": "run.wav", "mimeType": "audio/wav", "buffer": wav(tone(RUN_HZ, 2.0))}
    )
    button(page, "Send the file").click()
    expect(page.get_by_role("heading", name="Recording, test as received")).to_be_visible()
    expect(page.locator(".reading__name").first).to_have_text("Free-running speed")


def test_a_run_that_cannot_be_told_says_why(open_page: Opener, address):
    page = open_page("technician", address)
    quiet = BytesIO(wav(tone(RUN_HZ, 2.0) * 0.0)).getvalue()
    page.get_by_label("Or send a file").set_input_files(
        {"name": "quiet.wav", "mimeType": "audio/wav", "buffer": quiet}
    )
    button(page, "Send the file").click()
    expect(page.get_by_text("it cannot tell the speed")).to_be_visible()
    expect(page.get_by_text("check that the right microphone is on").first).to_be_visible()


def test_every_state_is_readable_by_all(open_page: Opener, microphone, address):
    page = open_page("technician", address, flags=microphone, width=360)

    def check() -> None:
        found = Axe().run(page, context="main")
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth") <= 360

    check()
    button(page, "Record").click()
    until(page, 1)
    check()
    page.route("**/record/", lambda route: route.abort("connectionreset"))
    button(page, "Stop").click()
    expect(button(page, "Try again")).to_be_visible()
    check()
    page.unroute("**/record/")
    button(page, "Try again").click()
    expect(page.locator("[data-answer] .chart")).to_be_visible()
    check()
    page.get_by_role("link", name="This recording").click()
    expect(page.get_by_role("heading", name="Recording, test as received")).to_be_visible()
    check()


def test_going_on_from_the_jobs_own_page_shows_it_anew(open_page: Opener, microphone, address):
    job = "/".join(address.split("/")[:3]) + "/"
    page = open_page("technician", job, flags=microphone)
    expect(page.locator(".actionline .button")).to_have_text("Measure")
    record(page, 2)
    # One main thing to do: the line at the foot takes it over, and gives it back for another take.
    expect(page.locator(".actionline .button")).to_have_text("Go on with the job")
    expect(page.locator(".button:not(.button--plain):visible")).to_have_count(1)
    button(page, "Record once more").click()
    expect(page.locator(".actionline .button")).to_have_text("Measure")
    until(page, 2)
    button(page, "Stop").click()
    page.get_by_role("link", name="Go on with the job").click()
    expect(page.locator(".actionline .button")).to_have_text("Tested as received")
    expect(page.locator(".button:not(.button--plain):visible")).to_have_count(1)
    expect(page.get_by_role("link", name=re.compile("^Recording of"))).to_have_count(2)
