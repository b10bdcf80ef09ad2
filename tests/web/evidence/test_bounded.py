"""Work on received files in processes of their own."""

import sys
import threading

import pytest
from PIL import Image

from tests.web.evidence.files import tone, wav
from turnwell.errors import UnreadableFileError
from turnwell.web.evidence import bounded


@pytest.fixture
def recording(tmp_path):
    path = tmp_path / "run.wav"
    path.write_bytes(wav(tone(3_000.0, 0.5)))
    return str(path)


def facts(path, **more):
    return bounded.run(
        "recording_facts", **{"seconds": 30.0, "path": path, "name": "run.wav"} | more
    )


def test_a_task_answers(recording):
    assert facts(recording)["rate_hz"] == 48_000.0


def test_a_refusal_comes_back_as_it_was_raised(tmp_path):
    (tmp_path / "no.wav").write_bytes(b"no sound")
    with pytest.raises(UnreadableFileError, match=r"run\.wav cannot be read as a sound"):
        facts(str(tmp_path / "no.wav"))


def test_too_long_ends_the_process_and_the_next_task_gets_another(recording):
    with pytest.raises(bounded.OverrunError, match="could not be read within"):
        facts(recording, seconds=1e-6)
    assert facts(recording)["rate_hz"] == 48_000.0


@pytest.mark.skipif(sys.platform == "win32", reason="Windows bounds no address space")
def test_too_much_memory_is_refused(tmp_path):
    path = tmp_path / "large.png"
    Image.new("RGBA", (8_000, 8_000)).save(path)  # 256 MB decoded
    worker = bounded._Worker(memory_bytes=350_000_000)
    try:
        with pytest.raises(bounded.OverrunError, match="memory"):
            worker.ask("photo_facts", {"path": str(path), "name": "large.png"}, 30.0)
    finally:
        worker.end()
    assert bounded.run("photo_facts", seconds=30.0, path=str(path), name="large.png")


def test_a_bug_in_a_task_stays_a_traceback():
    with pytest.raises(RuntimeError, match="KeyError"):
        bounded.run("no such task", seconds=30.0)


def test_an_interrupted_question_does_not_leave_its_answer_to_the_next(recording, monkeypatch):
    facts(recording)

    class Interrupted(threading.Timer):
        def cancel(self):
            super().cancel()
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(bounded, "Timer", Interrupted)
        with pytest.raises(KeyboardInterrupt):
            bounded.run("ready", seconds=30.0)
    assert facts(recording)["codec"] == "pcm_s16le"


def test_no_secret_reaches_a_worker(monkeypatch):
    monkeypatch.setenv("TURNWELL_HOME", "somewhere")
    started = {}

    class Noted(bounded.subprocess.Popen):
        def __init__(self, *args, **options):
            started.update(options["env"])
            super().__init__(*args, **options)

    monkeypatch.setattr(bounded.subprocess, "Popen", Noted)
    bounded._Worker().end()
    assert started
    assert not [name for name in started if name.startswith("TURNWELL")]
