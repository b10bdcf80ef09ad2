"""The data folder is closed and held by one; a port is found or refused."""

import os
import socket
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from tests.running.book import ROOT
from turnwell.errors import InputError
from turnwell.web.running import network
from turnwell.web.running.folder import hold, prepare_folder
from turnwell.web.running.network import addresses_here, bound_socket


def test_a_new_folder_is_closed_to_others(tmp_path: Path):
    home = tmp_path / "a" / "home"
    assert prepare_folder(home)
    assert home.stat().st_mode & 0o777 == 0o700
    assert not prepare_folder(home)


def test_an_open_folder_is_closed(tmp_path: Path):
    tmp_path.chmod(0o755)
    prepare_folder(tmp_path)
    assert tmp_path.stat().st_mode & 0o777 == 0o700


def test_a_file_in_its_place_is_refused(tmp_path: Path):
    (tmp_path / "home").write_text("")
    with pytest.raises(InputError, match="set TURNWELL_HOME"):
        prepare_folder(tmp_path / "home")


def test_one_process_holds_it_at_a_time(tmp_path: Path):
    code = (
        "import sys; from pathlib import Path; from turnwell.web.running.folder import hold\n"
        "with hold(Path(sys.argv[1])): print('held')\n"
    )
    words = [sys.executable, "-c", code, str(tmp_path)]

    def another() -> subprocess.CompletedProcess[str]:
        return subprocess.run(words, capture_output=True, text=True, cwd=ROOT, check=False)

    with hold(tmp_path):
        refused = another()
    assert "in use by another turnwell" in refused.stderr
    assert another().stdout == "held\n"


def taken_port() -> tuple[socket.socket, int]:
    taken = bound_socket("127.0.0.1", 40_000 + os.getpid() % 20_000, or_next=True)
    return taken, int(taken.getsockname()[1])


def test_a_chosen_port_that_is_taken_is_refused():
    taken, port = taken_port()
    with closing(taken), pytest.raises(InputError, match=f"port {port} is taken"):
        bound_socket("127.0.0.1", port, or_next=False)


def test_the_next_free_port_is_found_where_none_was_chosen():
    taken, port = taken_port()
    with closing(taken), closing(bound_socket("127.0.0.1", port, or_next=True)) as found:
        assert port < found.getsockname()[1] <= port + 20


def test_a_port_below_1024_says_what_to_do(monkeypatch: pytest.MonkeyPatch):
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(network.socket.socket, "bind", refuse)
    with pytest.raises(InputError, match="give one above 1023"):
        bound_socket("127.0.0.1", 443, or_next=False)


def test_a_machine_without_a_network_has_no_addresses(monkeypatch: pytest.MonkeyPatch):
    def refuse(*_: object, **__: object) -> None:
        raise OSError(101, "Network is unreachable")

    monkeypatch.setattr(network.socket.socket, "connect", refuse)
    monkeypatch.setattr(network.socket, "getaddrinfo", refuse)
    assert addresses_here() == ()


def test_loopback_is_no_address_of_the_network():
    assert not any(at.is_loopback or at.is_link_local for at in addresses_here())
