"""``turnwell serve``: open the bench and the book as a page."""

import argparse
from datetime import UTC, datetime
from pathlib import Path

from turnwell.cli.exits import ANSWERED
from turnwell.errors import InputError
from turnwell.web.env import Environment, environment
from turnwell.web.running.doors import Door, bench_door, reachable_door, shop_network_door
from turnwell.web.running.folder import prepare_folder
from turnwell.web.running.session import run_page

__all__ = ["add_to", "port_number", "run"]

_EXAMPLE = """examples:
  turnwell serve                         on this machine alone
  turnwell serve --lan                   also for tablets on the shop's network, over HTTPS
  turnwell serve --address https://bench.example --certificate cert.pem --key key.pem

TURNWELL_HOME says where the records lie (~/.turnwell), TURNWELL_ADDRESS is taken for --address.
"""


def add_to(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of the command."""
    parser.epilog = _EXAMPLE
    parser.add_argument(
        "--port", type=port_number, metavar="N", help="port; without it one that is free"
    )
    parser.add_argument(
        "--lan", action="store_true", help="serve the shop's network over HTTPS, own certificates"
    )
    parser.add_argument(
        "--address", metavar="URL", help="address that QR codes carry, https://... when public"
    )
    parser.add_argument(
        "--certificate", type=Path, metavar="FILE", help="certificate of a public address, PEM"
    )
    parser.add_argument("--key", type=Path, metavar="FILE", help="its key, PEM (PKCS #8)")
    parser.add_argument(
        "--behind-proxy", action="store_true", help="a proxy on this machine speaks HTTPS"
    )
    parser.add_argument(
        "--link", action="store_true", help="print a one-time link that signs the owner in"
    )


def run(arguments: argparse.Namespace) -> int:
    """Serve until stopped."""
    said = environment()
    prepare_folder(said.home)
    run_page(_door(arguments, said), wants_link=arguments.link)
    return ANSWERED


def port_number(text: str) -> int:
    """Read a port from the command line."""
    port = int(text) if text.isdecimal() else 0
    if not 1 <= port <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port; give a number from 1 to 65535")
    return port


def _door(arguments: argparse.Namespace, said: Environment) -> Door:
    """Tell from the arguments which way the page is to be reached."""
    address = arguments.address or said.address
    is_reachable = bool(arguments.certificate or arguments.key or arguments.behind_proxy)
    if arguments.lan and is_reachable:
        raise InputError("--lan makes its own certificates; leave it out, or the others")
    if arguments.lan:
        return shop_network_door(
            said.home,
            port=arguments.port,
            address=address,
            hosts=said.hosts,
            now=datetime.now(UTC),
        )
    if is_reachable:
        return reachable_door(
            address=address,
            port=arguments.port,
            certificate=arguments.certificate,
            key=arguments.key,
            behind_proxy=arguments.behind_proxy,
            hosts=said.hosts,
        )
    return bench_door(port=arguments.port, address=address, hosts=said.hosts)
