#!/usr/bin/env python3
"""Installs what Turnwell needs into .venv, then runs it: ``python3 run.py demo``.

Uses the standard library alone. The packages come from the locks in requirements/ (names, versions
and hashes); where they are fetched from is the machine's own setting for pip.
"""

from __future__ import annotations

import ast
import glob
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent
TOOLS = ROOT / ".tools"
VENV = ROOT / ".venv"
REQUIREMENTS = ROOT / "requirements"
OLDEST_PYTHON = (3, 11)
# An activated .venv has no pip; the Python it was made from has.
BASE_PYTHON = getattr(sys, "_base_executable", None) or sys.executable
IS_WINDOWS = os.name == "nt"
PROGRAMS = "Scripts" if IS_WINDOWS else "bin"
SUFFIX = ".exe" if IS_WINDOWS else ""
NETWORK = "The network is needed for the first run, and after an update; not otherwise."

# What of pyproject.toml is in each lock; the later ones keep to the earlier ones' versions.
LOCKS = {
    "run": {"extra": (), "group": ("build",)},
    "test": {"extra": ("postgres",), "group": ("build", "test", "check")},
    "bench": {"extra": (), "group": ("build", "bench")},
}


class RunError(Exception):
    """A step that cannot go on; its text is one clear sentence."""


def main(argv: list[str]) -> int:
    """Run one command of this file; gives the exit code."""
    if sys.version_info < OLDEST_PYTHON:
        found = ".".join(map(str, sys.version_info[:2]))
        print(f"run.py: this is Python {found}; Turnwell needs 3.11 or newer.", file=sys.stderr)
        return 1
    name, rest = (argv[0] if argv else "--help"), argv[1:]
    if name in {"-h", "--help", "help"}:
        print(usage())
        return 0
    if name not in COMMANDS:
        print(f"run.py: no command {name!r}.\n\n{usage()}", file=sys.stderr)
        return 2
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        return COMMANDS[name](rest)
    except RunError as error:
        print(f"run.py: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def usage() -> str:
    """Give the list of commands, each with the first line of what it does."""
    lines = [f"{name:14}{(do.__doc__ or '').splitlines()[0]}" for name, do in COMMANDS.items()]
    return f"usage: {'py' if IS_WINDOWS else 'python3'} run.py COMMAND [...]\n\n  " + "\n  ".join(
        lines
    )


def demo(rest: list[str]) -> int:
    """Open the page with an invented shop to look around in."""
    install("run")
    return replace_by([program("turnwell"), "demo", *rest])


def serve(rest: list[str]) -> int:
    """Open the page with your own records."""
    install("run")
    return replace_by([program("turnwell"), "serve", *rest])


def test(rest: list[str]) -> int:
    """Run every test, in a real browser too; further words go to pytest."""
    install("test")
    settings = {}
    left_out = ["postgres"]
    browser = chromium()
    if browser:
        settings["TURNWELL_CHROMIUM"] = browser
    else:
        left_out.append("browser")
        leave_out("the browser tests", "no Chromium was found; TURNWELL_CHROMIUM can name one")
    print("run.py: the tests of PostgreSQL itself are run by `run.py test-postgres`.", flush=True)
    marks = " and ".join(f"not {mark}" for mark in left_out)
    return call([*pytest(), "-m", marks, *rest], settings)


def test_postgres(rest: list[str]) -> int:
    """Run the tests of the records and pages on a temporary PostgreSQL."""
    install("test")
    found = postgres_programs()
    if found is None:
        leave_out("the PostgreSQL tests", "no PostgreSQL server is installed")
        return 0
    cluster = Cluster(found)
    try:
        address = cluster.start()
        places = [place for place in ("tests/web", "tests/running") if (ROOT / place).is_dir()]
        words = [*pytest(), "-m", "not browser", *(rest or places)]
        return call(words, {"TURNWELL_DATABASE_URL": address})
    finally:
        cluster.stop()


def check(rest: list[str]) -> int:
    """Check format, lint, types, import rules and docs."""
    if rest:
        raise RunError(f"check takes no further words, {rest[0]!r} was given.")
    install("test")
    worst = 0
    with tempfile.TemporaryDirectory(prefix="turnwell-check-") as home:
        for words in (
            ["ruff", "format", "--check", "."],
            ["ruff", "check", "."],
            ["mypy"],
            ["pytest", "-q", "tests/test_floors.py", "tests/test_docs.py"],
        ):
            print("run.py: " + " ".join(words), flush=True)
            worst = call([python(), "-m", *words], {"TURNWELL_HOME": home}) or worst
    return worst


def bench(rest: list[str]) -> int:
    """Print the tables of speed and accuracy; a name runs that one alone."""
    install("bench")
    return call([python(), "-m", "benchmarks", *rest])


def lock(rest: list[str]) -> int:
    """Write the locks in requirements/ anew from pyproject.toml."""
    uv = uv_program()
    if uv is None:
        raise RunError("uv could not be installed; the locks are written by it. " + NETWORK)
    common = ["pip", "compile", "--universal", "--generate-hashes", "--no-header", "--no-annotate"]
    common += ["-q", "--python-version", ".".join(map(str, OLDEST_PYTHON)), *rest]
    earlier = []
    for name, parts in LOCKS.items():
        target = f"requirements/{name}.txt"
        chosen = [f"--extra={extra}" for extra in parts["extra"]]
        chosen += [f"--group=pyproject.toml:{group}" for group in parts["group"]]
        code = call([uv, *common, "pyproject.toml", *chosen, *earlier, "-o", target], uv_settings())
        if code:
            return code
        earlier += ["-c", target]
    return call(
        [uv, *common, "--group", "pyproject.toml:tools", "-o", "requirements/tools.txt"],
        uv_settings(),
    )


COMMANDS = {
    "demo": demo,
    "serve": serve,
    "test": test,
    "test-postgres": test_postgres,
    "check": check,
    "bench": bench,
    "lock": lock,
}


def install(name: str) -> None:
    """Bring .venv to the lock of that name; returns at once when it is there."""
    stamp = VENV / f".installed-{name}"
    wanted = fingerprint(name)
    if Path(python()).exists() and stamp.is_file() and stamp.read_text() == wanted:
        return
    print(f"run.py: installing what requirements/{name}.txt lists into .venv ...", flush=True)
    uv = uv_program()
    if not Path(python()).exists():
        make_venv(uv)
    stamp.unlink(missing_ok=True)
    words = [uv, "pip"] if uv else [python(), "-m", "pip", "--disable-pip-version-check"]
    settings = uv_settings() if uv else {}
    locked = ["install", "-q", "--require-hashes", "-r", str(REQUIREMENTS / f"{name}.txt")]
    own = ["install", "-q", "--no-deps", "--no-build-isolation", "-e", str(ROOT)]
    for step in (locked, own):
        if uv:
            step += ["--python", python(), *(["--no-index"] if no_index() else [])]
        if call([*words, *step], settings):
            raise RunError("the packages could not be installed; the reason is above. " + NETWORK)
    stamp.write_text(wanted)


def fingerprint(name: str) -> str:
    """Give what must be unchanged for .venv to still fit."""
    kept = hashlib.sha256(str(ROOT).encode())
    for path in (REQUIREMENTS / f"{name}.txt", ROOT / "pyproject.toml"):
        kept.update(path.read_bytes())
    return kept.hexdigest()


def make_venv(uv: str | None) -> None:
    """Make .venv anew, by uv, or by this Python's own venv."""
    if uv:
        words = [uv, "venv", "-q", "--clear", "--python", BASE_PYTHON, str(VENV)]
        if call(words, uv_settings()) == 0:
            return
    if call([BASE_PYTHON, "-m", "venv", "--clear", str(VENV)]):
        raise RunError(
            "the folder .venv could not be made; on Debian `apt install python3-venv` helps."
        )


def uv_program() -> str | None:
    """Give the path of uv, installed into .tools when first asked for; None when it cannot be."""
    uv = TOOLS / PROGRAMS / f"uv{SUFFIX}"
    stamp = TOOLS / ".installed"
    wanted = hashlib.sha256((REQUIREMENTS / "tools.txt").read_bytes()).hexdigest()
    if uv.is_file() and stamp.is_file() and stamp.read_text() == wanted:
        return str(uv)
    pip = [BASE_PYTHON, "-m", "pip", "--disable-pip-version-check"]
    if subprocess.run([*pip, "--version"], capture_output=True, check=False).returncode:
        raise RunError("this Python has no pip; on Debian `apt install python3-pip` brings it.")
    into = ["install", "-q", "--root-user-action=ignore", "--upgrade", "--target", str(TOOLS)]
    words = [*pip, *into, "--require-hashes", "-r", str(REQUIREMENTS / "tools.txt")]
    # A user's pip settings that make sense elsewhere would stop an install into a folder.
    if call(words, {"PIP_USER": "0", "PIP_REQUIRE_VIRTUALENV": "0"}):
        print("run.py: uv could not be had; pip alone does it too, more slowly.", flush=True)
        return None
    stamp.write_text(wanted)
    return str(uv)


def pip_settings() -> dict[str, str]:
    """Give what the user has set for pip, by name; the environment beats the files."""
    words = [BASE_PYTHON, "-m", "pip", "config", "list"]
    said = subprocess.run(words, capture_output=True, text=True, check=False).stdout
    found = {}
    for section in ("global", "install", ":env:"):
        for line in said.splitlines():
            name, _, value = line.partition("=")
            if name.startswith(section + "."):
                found[name[len(section) + 1 :]] = str(ast.literal_eval(value))
    return found


def no_index() -> bool:
    """Tell whether pip is told to use no index, only the user's own folder of packages."""
    return pip_settings().get("no-index", "").lower() in {"1", "true", "yes", "on"}


def uv_settings() -> dict[str, str]:
    """Give uv the settings that the user has for pip, which uv does not read itself."""
    names = {
        "index-url": "UV_DEFAULT_INDEX",
        "extra-index-url": "UV_INDEX",
        "find-links": "UV_FIND_LINKS",
        "trusted-host": "UV_INSECURE_HOST",
        "cert": "SSL_CERT_FILE",
        "default-timeout": "UV_HTTP_TIMEOUT",
        "timeout": "UV_HTTP_TIMEOUT",
        "proxy": "ALL_PROXY",
    }
    found = pip_settings()
    settings = {names[key]: found[key] for key in names if found.get(key)}
    for name, separator in (("UV_INDEX", " "), ("UV_FIND_LINKS", ","), ("UV_INSECURE_HOST", " ")):
        if name in settings:
            settings[name] = separator.join(settings[name].split())
    # Every version and hash is locked, so which index a file comes from cannot matter.
    settings["UV_INDEX_STRATEGY"] = "unsafe-best-match"
    settings["VIRTUAL_ENV"] = str(VENV)
    return {name: value for name, value in settings.items() if name not in os.environ}


def chromium() -> str | None:
    """Give the path of a Chromium, installed from Debian where that may be done, or None."""
    named = os.environ.get("TURNWELL_CHROMIUM")
    if named:
        return named
    for round_ in range(2):
        for name in ("chromium", "chromium-browser"):
            if shutil.which(name):
                return shutil.which(name)
        if round_ or not install_debian("chromium"):
            return None
    return None


def postgres_programs() -> Path | None:
    """Give the folder of PostgreSQL's programs, installed from Debian where that may be done."""
    for round_ in range(2):
        folders = sorted(glob.glob("/usr/lib/postgresql/*/bin"), reverse=True)
        beside = shutil.which("initdb")
        folders += [str(Path(beside).resolve().parent)] if beside else []
        for folder in folders:
            if Path(folder, "initdb").is_file() and Path(folder, "pg_ctl").is_file():
                return Path(folder)
        if round_ or IS_WINDOWS or not install_debian("postgresql"):
            return None
    return None


def install_debian(package: str) -> bool:
    """Install a Debian package where this may be done (as root, with apt-get); tell if it was."""
    if not shutil.which("apt-get") or os.geteuid() != 0:
        return False
    print(f"run.py: installing Debian's package {package} ...", flush=True)
    quiet = {"DEBIAN_FRONTEND": "noninteractive"}
    call(["apt-get", "-q", "update"], quiet)
    return call(["apt-get", "-qy", "install", "--no-install-recommends", package], quiet) == 0


def leave_out(what: str, why: str) -> None:
    """Say in one line which tests are left out and why; in CI that is a failure."""
    if os.environ.get("CI", "").lower() in {"1", "true", "yes"}:
        raise RunError(f"{what} cannot be left out in CI: {why}.")
    print(f"run.py: leaving out {what}: {why}.", flush=True)


class Cluster:
    """A PostgreSQL server of its own in a temporary folder, reached by a socket in it alone."""

    def __init__(self, programs: Path) -> None:
        self.programs = programs
        # A short path: a socket's may have about 100 characters.
        self.folder = Path(tempfile.mkdtemp(prefix="turnwell-pg-", dir="/tmp"))
        self.is_root = os.geteuid() == 0

    def start(self) -> str:
        """Start it and give its address."""
        if self.is_root:
            shutil.chown(self.folder, "postgres")
        records = str(self.folder / "records")
        made = ["initdb", "-D", records, "-A", "trust", "-U", "postgres", "-E", "UTF8"]
        self._do([*made, "--locale=C.UTF-8", "--no-sync"], "made")
        options = f"-c listen_addresses= -c unix_socket_directories={self.folder} -c fsync=off"
        log = str(self.folder / "log")
        self._do(["pg_ctl", "-D", records, "-w", "-l", log, "-o", options, "start"], "started")
        return f"postgresql://postgres@{str(self.folder).replace('/', '%2F')}/postgres"

    def stop(self) -> None:
        """Stop it and remove all of it."""
        records = self.folder / "records"
        if (records / "postmaster.pid").exists():
            self._do(["pg_ctl", "-D", str(records), "-m", "immediate", "-w", "stop"], "stopped")
        shutil.rmtree(self.folder, ignore_errors=True)

    def _do(self, words: list[str], deed: str) -> None:
        """Run one of PostgreSQL's programs, as its own user when this is root."""
        who = ["runuser", "-u", "postgres", "--"] if self.is_root else []
        command = [*who, str(self.programs / words[0]), *words[1:]]
        # pg_ctl's server would hold a pipe open, so its words go to a file.
        with tempfile.TemporaryFile("w+") as said:
            done = subprocess.run(command, cwd="/", stdout=said, stderr=said, check=False)
            said.seek(0)
            if done.returncode:
                raise RunError(f"the temporary PostgreSQL could not be {deed}: {said.read()}")


def python() -> str:
    """Give the path of .venv's Python."""
    return str(VENV / PROGRAMS / f"python{SUFFIX}")


def program(name: str) -> str:
    """Give the path of a program in .venv."""
    return str(VENV / PROGRAMS / f"{name}{SUFFIX}")


def pytest() -> list[str]:
    """Give the words that start pytest; what is skipped for want of a program fails in CI."""
    return [python(), "-m", "pytest", "-p", "tests.left_out"]


def call(words: list[str], settings: dict[str, str] | None = None) -> int:
    """Run a command in the project's folder; gives its exit code."""
    environment = {**os.environ, **(settings or {})}
    return subprocess.run(words, cwd=ROOT, env=environment, check=False).returncode


def replace_by(words: list[str]) -> int:
    """Become that command, so that signals reach it; gives its exit code where that cannot be."""
    if not IS_WINDOWS:
        os.execv(words[0], words)  # noqa: S606  # our own program, no shell wanted
    started = subprocess.Popen(words)
    while True:
        try:
            return started.wait()
        except KeyboardInterrupt:
            continue  # the same key reached the server, which stops by itself


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
