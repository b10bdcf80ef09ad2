"""A page over plain http that hands out the authority's certificate, and nothing else.

A tablet cannot open the HTTPS page without a warning before it trusts the shop's authority, so the
certificate is to be had without: it is public, and says nothing a visitor of the HTTPS page would
not get as well. What plain http cannot do is prove that the certificate is ours; the fingerprint
that `turnwell serve` prints does, when it is compared on the tablet.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from html import escape
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from string import Template
from threading import Thread

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from turnwell.web.running.certificates import Certificates
from turnwell.web.running.network import bound_socket

__all__ = ["trust_page", "trust_port"]

CERTIFICATE_PATH = "/turnwell-authority.crt"
READ_TIMEOUT_S = 10
Answer = tuple[str, bytes]


def trust_port(port: int) -> int:
    """Give the port of this page beside the HTTPS page's: the one after it.

    >>> trust_port(8351)
    8352
    """
    return port + 1 if port < 65535 else port - 1


@contextmanager
def trust_page(shop: Certificates, host: str, https_port: int) -> Iterator[int]:
    """Serve the page while the block runs; gives its port."""
    answers = _answers(shop, https_port)

    class Handler(BaseHTTPRequestHandler):
        """Answers the three addresses there are."""

        timeout = READ_TIMEOUT_S
        server_version, sys_version = "turnwell", ""

        def do_GET(self) -> None:
            """Send what lies at the address."""
            found = answers.get(self.path.partition("?")[0])
            kind, body = found or ("text/plain; charset=utf-8", b"There is no such page.\n")
            self.send_response(HTTPStatus.OK if found else HTTPStatus.NOT_FOUND)
            self.send_header("Content-Type", kind)
            self.send_header("Content-Length", str(len(body)))
            self.send_header("Content-Security-Policy", "default-src 'self'; base-uri 'none'")
            self.send_header("X-Content-Type-Options", "nosniff")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            """Print nothing: the terminal is for the technician."""

    server = ThreadingHTTPServer((host, 0), Handler, bind_and_activate=False)
    server.socket.close()
    server.socket = bound_socket(host, trust_port(https_port), or_next=False)
    thread = Thread(target=server.serve_forever, name="trust page", daemon=True)
    thread.start()
    try:
        yield trust_port(https_port)
    finally:
        server.shutdown()
        server.server_close()


def _answers(shop: Certificates, https_port: int) -> dict[str, Answer]:
    """Give everything this page can answer, by its path."""
    certificate = x509.load_pem_x509_certificate(shop.authority.read_bytes())
    here = files("turnwell.web.running").joinpath("trust")
    page = Template(here.joinpath("page.html").read_text(encoding="utf-8")).substitute(
        certificate=CERTIFICATE_PATH,
        name=escape(certificate.subject.rfc4514_string().removeprefix("CN=")),
        fingerprint=escape(shop.fingerprint),
        port=https_port,
    )
    return {
        "/": ("text/html; charset=utf-8", page.encode()),
        "/page.css": ("text/css; charset=utf-8", here.joinpath("page.css").read_bytes()),
        CERTIFICATE_PATH: ("application/x-x509-ca-cert", certificate.public_bytes(Encoding.DER)),
    }
