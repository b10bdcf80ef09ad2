"""``run.py`` says plainly what is wrong, and hands on exit codes and the user's pip settings."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
import run

ROOT = Path(__file__).resolve().parents[1]


def test_it_uses_the_standard_library_alone():
    code = "import sys, run; print(*{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run(
        [
            sys.executable,
            "-I",
            "-S",
            "-c",
            f"import sys; sys.path.insert(0, {str(ROOT)!r}); {code}",
        ],
        capture_output=True,
        text=True,
        check=True,
    )
    ours = set(done.stdout.split()) - {"run", "__main__"}
    assert ours <= {*sys.stdlib_module_names, *sys.builtin_module_names}


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]):
    assert run.main([]) == 0
    said = capsys.readouterr().out
    for name in ("demo", "serve", "test", "test-postgres", "check", "bench", "lock"):
        assert f"  {name} " in said


def test_an_unknown_command_is_a_usage_error(capsys: pytest.CaptureFixture[str]):
    assert run.main(["dmeo"]) == 2
    assert "no command 'dmeo'" in capsys.readouterr().err


def test_an_old_python_is_said_plainly(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setattr(sys, "version_info", (3, 10, 1))
    assert run.main(["demo"]) == 1
    assert capsys.readouterr().err == "run.py: this is Python 3.10; Turnwell needs 3.11 or newer.\n"


def test_no_pip_is_said_plainly(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setattr(run, "TOOLS", tmp_path)
    monkeypatch.setattr(run, "BASE_PYTHON", "/bin/false")
    with pytest.raises(run.RunError, match="no pip"):
        run.uv_program()


def test_a_failed_install_is_one_sentence_and_tried_again(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setattr(run, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(run, "uv_program", lambda: "uv")
    monkeypatch.setattr(
        run, "make_venv", lambda _: (tmp_path / ".venv" / "bin").mkdir(parents=True)
    )
    monkeypatch.setattr(run, "call", lambda *_: 1)
    monkeypatch.setattr(run, "pip_settings", dict)
    assert run.main(["serve"]) == 1
    assert "could not be installed" in capsys.readouterr().err
    assert not list(tmp_path.glob(".venv/.installed-*"))


def test_a_second_call_installs_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    venv = tmp_path / ".venv"
    (venv / run.PROGRAMS).mkdir(parents=True)
    (venv / run.PROGRAMS / f"python{run.SUFFIX}").touch()
    monkeypatch.setattr(run, "VENV", venv)
    (venv / ".installed-run").write_text(run.fingerprint("run"))
    monkeypatch.setattr(run, "call", lambda *_: pytest.fail("something was run"))
    run.install("run")


def test_a_changed_lock_is_seen(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    before = run.fingerprint("run")
    (tmp_path / "run.txt").write_text("another==1")
    monkeypatch.setattr(run, "REQUIREMENTS", tmp_path)
    assert run.fingerprint("run") != before


def test_pip_settings_reach_uv_which_does_not_read_them(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    settings = tmp_path / "pip.conf"
    settings.write_text(
        "[global]\nindex-url = https://mirror.example/simple\n"
        "extra-index-url =\n  https://one.example\n  https://two.example\n"
        "[install]\nfind-links = /wheels\n"
    )
    for name in [name for name in os.environ if name.startswith(("PIP_", "UV_"))]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_CONFIG_FILE", str(settings))
    monkeypatch.setenv("PIP_INDEX_URL", "https://nearer.example/simple")
    monkeypatch.setenv("UV_FIND_LINKS", "/my/own")
    said = run.uv_settings()
    assert said["UV_DEFAULT_INDEX"] == "https://nearer.example/simple"
    assert said["UV_INDEX"] == "https://one.example https://two.example"
    assert "UV_FIND_LINKS" not in said, "what the user set for uv is left alone"


@pytest.mark.parametrize("is_ci", [True, False])
def test_left_out_tests_are_said_and_fail_in_ci(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], is_ci: bool
):
    monkeypatch.setenv("CI", "true" if is_ci else "")
    monkeypatch.setattr(run, "install", lambda _: None)
    monkeypatch.setattr(run, "chromium", lambda: None)
    called: list[list[str]] = []
    monkeypatch.setattr(run, "call", lambda words, _settings: called.append(words) or 5)
    code = run.main(["test", "-x"])
    said = capsys.readouterr()
    if is_ci:
        assert (code, called) == (1, [])
        assert "cannot be left out in CI" in said.err
    else:
        assert code == 5
        assert "leaving out the browser tests: no Chromium was found" in said.out
        assert called[0][-3:] == ["-m", "not postgres and not browser", "-x"]


def test_a_failing_step_of_the_checks_is_handed_on(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(run, "install", lambda _: None)
    codes = {"ruff": 0, "mypy": 3, "pytest": 1}
    monkeypatch.setattr(run, "call", lambda words, _settings: codes[words[2]])
    assert run.main(["check"]) == 1


def test_the_locks_hold_hashes_and_no_address():
    for path in (ROOT / "requirements").glob("*.txt"):
        text = path.read_text()
        assert "://" not in text
        names = [line for line in text.splitlines() if line and line[0] not in " #"]
        assert names
        assert all("==" in line for line in names)
        assert text.count("--hash=sha256:") >= len(names)


def test_no_package_has_two_versions():
    """The tests run on what users run."""
    versions: dict[str, set[str]] = {}
    for path in (ROOT / "requirements").glob("*.txt"):
        for line in path.read_text().splitlines():
            if "==" in line and not line.startswith(" "):
                name, _, rest = line.partition("==")
                versions.setdefault(name, set()).add(rest.split()[0])
    assert not {name: found for name, found in versions.items() if len(found) > 1}


def test_a_skipped_browser_test_fails_in_ci(tmp_path: Path):
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers =\n  browser: b\n  postgres: p\n")
    (tmp_path / "test_page.py").write_text(
        "import pytest\n"
        "@pytest.mark.browser\n"
        "def test_page():\n"
        "    pytest.skip('no browser')\n"
        "def test_other():\n"
        "    pytest.skip('not here')\n"
    )
    words = ["-p", "no:django", "-p", "tests.left_out", "-p", "no:cacheprovider"]
    for is_ci, expected in (("", {"skipped": 2}), ("true", {"failed": 1, "skipped": 1})):
        environment = {**os.environ, "CI": is_ci, "PYTHONPATH": str(ROOT)}
        environment.pop("DJANGO_SETTINGS_MODULE", None)
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *words, str(tmp_path)],
            cwd=tmp_path,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        last = done.stdout.strip().splitlines()[-1]
        assert all(f"{count} {word}" in last for word, count in expected.items()), done.stdout
