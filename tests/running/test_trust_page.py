"""The page for tablets hands out the certificate and nothing else."""

from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from http.client import HTTPConnection
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from turnwell.web.running.certificates import Certificates, ensure_certificates
from turnwell.web.running.network import bound_socket
from turnwell.web.running.trust_page import trust_page, trust_port


@pytest.fixture
def shop(tmp_path: Path) -> Certificates:
    return ensure_certificates(tmp_path, names=("bench-pc",), addresses=(), now=datetime.now(UTC))


@pytest.fixture
def port(shop: Certificates) -> Iterator[int]:
    free = bound_socket("127.0.0.1", 41_000, or_next=True)
    before = free.getsockname()[1] - 1
    free.close()
    with trust_page(shop, "127.0.0.1", before) as open_at:
        yield open_at


def get(port: int, path: str) -> tuple[int, str, bytes]:
    with closing(HTTPConnection("127.0.0.1", port, timeout=10)) as connection:
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.headers["Content-Type"], answer.read()


def test_it_hands_out_the_authority_as_tablets_want_it(shop: Certificates, port: int):
    status, kind, content = get(port, "/turnwell-authority.crt")
    assert (status, kind) == (200, "application/x-x509-ca-cert")
    certificate = x509.load_der_x509_certificate(content)
    assert certificate.fingerprint(hashes.SHA256()).hex(":").upper() == shop.fingerprint


def test_the_page_shows_name_and_fingerprint(shop: Certificates, port: int):
    page = get(port, "/")[2].decode()
    assert shop.fingerprint in page
    assert "Turnwell of bench-pc" in page
    assert "$" not in page
    assert get(port, "/page.css")[:2] == (200, "text/css; charset=utf-8")


@pytest.mark.parametrize(
    "path", ["/authority.key", "/../certificates/authority.key", "/server.key", "//etc/passwd"]
)
def test_nothing_else_is_to_be_had(port: int, path: str):
    assert get(port, path)[0] == 404


def test_its_port_stays_a_port():
    assert (trust_port(8351), trust_port(65535)) == (8352, 65534)
