"""Settings by way of running, and Django's own deployment checks on each of them."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from turnwell.errors import InputError
from turnwell.web.env import environment
from turnwell.web.security import security

WAYS = {
    "bench": {},
    "shop-network": {"TURNWELL_WAY": "shop-network", "TURNWELL_HOSTS": "bench.local,10.0.0.7"},
    "reachable": {"TURNWELL_WAY": "reachable", "TURNWELL_ADDRESS": "https://bench.example:8443"},
    "behind a proxy": {
        "TURNWELL_WAY": "reachable",
        "TURNWELL_ADDRESS": "https://bench.example",
        "TURNWELL_BEHIND_PROXY": "1",
    },
}


@pytest.mark.parametrize("way", WAYS)
def test_the_deployment_checks_are_clean(way: str, tmp_path: Path) -> None:
    # Browser tests loosen the async guard for this process; the check is of a plain start.
    variables = {name: said for name, said in os.environ.items() if "ASYNC_UNSAFE" not in name}
    answer = subprocess.run(
        [sys.executable, "-m", "django", "check", "--deploy", "--fail-level", "INFO"],
        env={
            **variables,
            "DJANGO_SETTINGS_MODULE": "turnwell.web.settings",
            "TURNWELL_HOME": str(tmp_path),
            **WAYS[way],
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert answer.returncode == 0, answer.stderr
    assert "no issues" in answer.stdout


def test_the_bench_asks_for_no_https() -> None:
    of_bench = security(environment({}))
    assert not of_bench.is_https
    assert of_bench.hosts == ("localhost", "127.0.0.1", "[::1]")
    assert of_bench.trusted_origins == ()


def test_the_shop_network_never_insists_for_long() -> None:
    of_network = security(environment(WAYS["shop-network"]))
    assert of_network.is_https
    assert of_network.hsts_s == 0
    assert "bench.local" in of_network.hosts
    assert "*" not in of_network.hosts


def test_a_public_name_does() -> None:
    reachable = security(environment(WAYS["reachable"]))
    assert reachable.hsts_s == 30 * 24 * 3600
    assert reachable.trusted_origins == ("https://bench.example:8443",)
    assert "bench.example" in reachable.hosts


def test_a_bare_address_does_not() -> None:
    said = {"TURNWELL_WAY": "reachable", "TURNWELL_ADDRESS": "https://[2001:db8::7]"}
    reachable = security(environment(said))
    assert reachable.hsts_s == 0
    assert "[2001:db8::7]" in reachable.hosts


@pytest.mark.parametrize(
    "address", ["bench.example", "ftp://bench.example", "https://", "https://*", "https://[::1"]
)
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(InputError, match="TURNWELL_ADDRESS"):
        security(environment({"TURNWELL_WAY": "reachable", "TURNWELL_ADDRESS": address}))


def test_plain_http_is_refused_where_https_is_meant() -> None:
    said = {"TURNWELL_WAY": "shop-network", "TURNWELL_ADDRESS": "http://bench.local"}
    with pytest.raises(InputError, match="must start with https"):
        security(environment(said))
