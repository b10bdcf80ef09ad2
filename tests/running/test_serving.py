"""A real server in a process of its own: starts, lets the owner in, answers, stops."""

import re
import signal
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from http.client import HTTPConnection, HTTPSConnection
from pathlib import Path

import pytest

from tests.running.book import ROOT, Book

START = "import sys; from turnwell.cli.main import main; sys.exit(main())"
TIMEOUT_S = 90


class Server:
    """A running ``turnwell serve`` and what it printed."""

    def __init__(self, process: "subprocess.Popen[str]") -> None:
        self.process = process
        self.said: list[str] = []
        timer = threading.Timer(TIMEOUT_S, process.kill)
        timer.start()
        assert process.stdout is not None
        for line in process.stdout:
            self.said.append(line)
            if "Ctrl-C stops" in line:
                break
        timer.cancel()

    @property
    def port(self) -> int:
        """The port it said."""
        return int(self.found(r"open at https?://[^:]+:(\d+)"))

    def found(self, pattern: str) -> str:
        """Give what a pattern finds in the printed lines."""
        text = "".join(self.said)
        match = re.search(pattern, text)
        assert match, text
        return match.group(1)

    def stop(self, by: signal.Signals) -> int:
        """Stop it; gives the exit code."""
        self.process.send_signal(by)
        self.process.communicate(timeout=TIMEOUT_S)
        return self.process.returncode


@contextmanager
def serving(book: Book, *words: str) -> Iterator[Server]:
    process = subprocess.Popen(
        [sys.executable, "-u", "-c", START, "serve", *words],
        env=book.environment,
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield Server(process)
    finally:
        process.kill()
        process.communicate()


def get(connection: HTTPConnection, path: str, host: str = "localhost") -> tuple[int, str]:
    connection.request("GET", path, headers={"Host": host})
    answer = connection.getresponse()
    answer.read()
    return answer.status, answer.headers.get("Location", "")


@pytest.mark.slow
@pytest.mark.parametrize("by", [signal.SIGINT, signal.SIGTERM])
def test_first_run_prints_a_link_and_stops_cleanly(empty: Book, by: signal.Signals):
    with serving(empty, "--port", "42350") as server:
        token = server.found(r"/sign-in/([\w-]+)/")
        with closing(HTTPConnection("127.0.0.1", server.port, timeout=TIMEOUT_S)) as connection:
            assert get(connection, "/") == (302, "/sign-in/?next=/")
            assert get(connection, f"/sign-in/{token}/")[0] == 200
            assert get(connection, "/", host="elsewhere.example")[0] == 400
        assert server.stop(by) == 0
    assert empty.home.stat().st_mode & 0o777 == 0o700
    assert empty.report()["sound"] is True
    assert not (empty.home / "backups").exists()


@pytest.mark.slow
def test_one_server_at_a_time_and_the_default_port_gives_way(book: Book, tmp_path: Path):
    other = Book(tmp_path / "other")
    with serving(book) as first, serving(other) as second:
        assert second.port != first.port
        refused = book.run("serve")
    assert refused.returncode == 1
    assert "in use by another turnwell" in refused.stderr


@pytest.mark.slow
def test_a_chosen_port_that_is_taken_is_one_sentence(book: Book, tmp_path: Path):
    with serving(book, "--port", "42360"):
        refused = Book(tmp_path / "other").run("serve", "--port", "42360")
    assert refused.returncode == 1
    assert refused.stderr == (
        "turnwell serve: port 42360 is taken by another program; give another one with --port\n"
    )


@pytest.mark.slow
def test_the_shop_network_is_https_and_hands_out_its_authority(empty: Book):
    with serving(empty, "--lan", "--port", "42370") as server:
        assert "every tablet needs it" in "".join(server.said)
        with closing(HTTPConnection("127.0.0.1", server.port + 1, timeout=TIMEOUT_S)) as page:
            page.request("GET", "/turnwell-authority.crt")
            authority = ssl.DER_cert_to_PEM_cert(page.getresponse().read())
        context = ssl.create_default_context(cadata=authority)
        with closing(
            HTTPSConnection("localhost", server.port, context=context, timeout=TIMEOUT_S)
        ) as connection:
            assert get(connection, "/", host=f"localhost:{server.port}") == (
                302,
                "/sign-in/?next=/",
            )
        assert server.stop(signal.SIGINT) == 0


@pytest.mark.slow
def test_behind_a_proxy_https_is_the_proxys_word(book: Book):
    words = ("--behind-proxy", "--address", "https://bench.example", "--port", "42380")
    with serving(book, *words) as server:
        assert server.found(r"open at (\S+)") == "https://bench.example"
        with closing(HTTPConnection("127.0.0.1", 42380, timeout=TIMEOUT_S)) as connection:
            host = "bench.example"
            plain = get(connection, "/sign-in/", host)
            assert plain == (301, "https://bench.example/sign-in/")
            connection.request(
                "GET", "/sign-in/", headers={"Host": host, "X-Forwarded-Proto": "https"}
            )
            assert connection.getresponse().status == 200
