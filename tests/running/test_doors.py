"""Each way to run is one door, and what cannot work is refused with one sentence."""

from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path

import pytest

from turnwell.errors import InputError
from turnwell.web.env import Way, environment
from turnwell.web.running import doors
from turnwell.web.running.doors import bench_door, reachable_door, shop_network_door


def test_the_bench_listens_on_this_machine_alone():
    door = bench_door(port=None)
    assert (door.host, door.way, door.certificate) == ("127.0.0.1", Way.BENCH, None)
    assert door.urls(8350) == ("http://127.0.0.1:8350",)


def test_settings_read_what_the_door_tells():
    door = bench_door(port=1, address="http://bench.local:8350/", hosts=("other",))
    said = environment(door.settings)
    assert said.address == "http://bench.local:8350"
    assert said.hosts == ("other", "bench.local")
    assert said.way is Way.BENCH


@pytest.fixture
def network(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(doors, "names_here", lambda: ("bench-pc", "bench-pc.local"))
    monkeypatch.setattr(
        doors, "addresses_here", lambda: (ip_address("192.168.7.20"), ip_address("fd12::20"))
    )


@pytest.mark.usefixtures("network")
def test_the_shop_network_is_https_by_every_name(tmp_path: Path):
    door = shop_network_door(tmp_path, port=None, address="", hosts=(), now=datetime.now(UTC))
    assert door.way is Way.SHOP_NETWORK
    assert door.urls(8351) == (
        "https://bench-pc.local:8351",
        "https://192.168.7.20:8351",
        "https://bench-pc:8351",
    )
    assert set(door.hosts) >= {"bench-pc", "bench-pc.local", "192.168.7.20"}


@pytest.mark.usefixtures("network")
def test_the_set_address_comes_first_and_into_the_certificate(tmp_path: Path):
    address = "https://bench.home.example:8351"
    door = shop_network_door(tmp_path, port=None, address=address, hosts=(), now=datetime.now(UTC))
    assert door.urls(8351)[0] == address
    assert door.shop is not None
    assert "bench.home.example" in door.shop.names


def reachable(tmp_path: Path, **changed: object) -> doors.Door:
    for name in ("cert.pem", "key.pem"):
        (tmp_path / name).touch()
    said: dict[str, object] = {
        "address": "https://bench.example",
        "port": None,
        "certificate": tmp_path / "cert.pem",
        "key": tmp_path / "key.pem",
        "behind_proxy": False,
    }
    return reachable_door(**{**said, **changed})  # type: ignore[arg-type]  # a table of cases


def test_a_public_address_listens_on_the_port_of_its_name(tmp_path: Path):
    assert reachable(tmp_path).port == 443
    assert reachable(tmp_path, address="https://bench.example:8443").port == 8443
    assert reachable(tmp_path).urls(443) == ("https://bench.example",)


def test_behind_a_proxy_only_this_machine_is_listened_to(tmp_path: Path):
    door = reachable(tmp_path, certificate=None, key=None, behind_proxy=True)
    assert (door.host, door.is_behind_proxy) == ("127.0.0.1", True)
    assert environment(door.settings).behind_proxy


@pytest.mark.parametrize(
    ("changed", "sentence"),
    [
        ({"address": ""}, "public address is missing"),
        ({"address": "http://bench.example"}, "is not one like https://"),
        ({"address": "bench.example"}, "is not one like https://"),
        ({"address": "https://bench.example:99999"}, "cannot be read"),
        ({"address": "https://bench.example/jobs"}, "more than a host and a port"),
        ({"address": "https://someone@bench.example"}, "more than a host and a port"),
        ({"certificate": Path("none.pem")}, "--certificate none.pem is not there"),
        ({"key": None}, "belong together"),
        ({"certificate": None, "key": None}, "give either"),
        ({"behind_proxy": True}, "give either"),
    ],
)
def test_what_cannot_work_is_refused(tmp_path: Path, changed: dict[str, object], sentence: str):
    with pytest.raises(InputError, match=sentence):
        reachable(tmp_path, **changed)
