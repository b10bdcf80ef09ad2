"""The shop's own certificate authority, and the certificate of this machine signed by it.

A tablet that has the authority's certificate trusts every certificate this machine makes for
itself, so the authority is narrow: it may sign for names of this machine, for names ending in
``.local`` and for private addresses, and for nothing else (RFC 5280, 4.2.1.10). Its key lies in the
data folder with mode 600 and is never backed up unless asked.

References
----------
RFC 5280 (certificates), RFC 1918 and RFC 4193 (private addresses), RFC 6762 (names in ``.local``).
"""

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_network
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

__all__ = ["Certificates", "ensure_certificates"]

AUTHORITY_LIFE = timedelta(days=3652)
# Browsers refuse server certificates that hold longer than 398 days (common practice).
SERVER_LIFE = timedelta(days=397)
RENEW_BEFORE = timedelta(days=60)
CLOCK_SLACK = timedelta(days=1)
PRIVATE_NETWORKS = tuple(
    ip_network(text)
    for text in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "fc00::/7")
)
LOOPBACK = IPv4Address("127.0.0.1")
Address = IPv4Address | IPv6Address


@dataclass(frozen=True, slots=True)
class Certificates:
    """Where the certificates lie, and what stands in them.

    Parameters
    ----------
    authority, server, server_key : Path
        PEM files; the key is PKCS #8.
    fingerprint : str
        SHA-256 of the authority's certificate, as tablets show it.
    names : tuple of str
        Host names and addresses that the server's certificate holds for.
    left_out : tuple of str
        Names asked for that the authority may not sign.
    is_new_authority : bool
        True when tablets must install it (again).
    """

    authority: Path
    server: Path
    server_key: Path
    fingerprint: str
    names: tuple[str, ...]
    left_out: tuple[str, ...]
    is_new_authority: bool


def ensure_certificates(
    folder: Path, *, names: tuple[str, ...], addresses: tuple[Address, ...], now: datetime
) -> Certificates:
    """Give valid certificates for these names, making or renewing what is missing or near its end.

    Parameters
    ----------
    folder : Path
        Made with mode 700.
    names, addresses
        What this machine is reached by.
    now : datetime
        With a time zone.
    """
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    path, key_path = folder / "authority.pem", folder / "authority.key"
    is_new = _is_due(path, key_path, now)
    if is_new:
        _make_authority(path, key_path, names, now)
    authority, key = _read(path), _read_key(key_path)
    wanted = [_dns(name) for name in ("localhost", *names)]
    wanted += [x509.IPAddress(at) for at in (LOOPBACK, *addresses)]
    allowed = [name for name in wanted if _may_sign(authority, name)]
    server, server_key = folder / "server.pem", folder / "server.key"
    if is_new or _is_due(server, server_key, now) or _names_in(server) != set(allowed):
        certificate, own_key = _server_certificate(authority, key, allowed, now)
        _write(server, server_key, certificate, own_key)
    return Certificates(
        authority=path,
        server=server,
        server_key=server_key,
        fingerprint=authority.fingerprint(hashes.SHA256()).hex(":").upper(),
        names=tuple(str(name.value) for name in allowed),
        left_out=tuple(str(name.value) for name in wanted if name not in allowed),
        is_new_authority=is_new,
    )


def _dns(name: str) -> x509.GeneralName:
    """Give a host name as it stands in a certificate."""
    return x509.DNSName(name.encode("idna").decode("ascii"))


def _make_authority(path: Path, key_path: Path, names: tuple[str, ...], now: datetime) -> None:
    """Make a new authority for these names, ``.local`` and private addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Turnwell of {_owner(names)}")])
    permitted: list[x509.GeneralName] = [x509.DNSName("local"), x509.DNSName("localhost")]
    permitted += [_dns(name) for name in names if not name.endswith(".local")]
    permitted += [x509.IPAddress(network) for network in PRIVATE_NETWORKS]
    usage = _key_usage(key_cert_sign=True, crl_sign=True)
    certificate = (
        _builder(subject, subject, key.public_key(), now, now + AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(
            x509.NameConstraints(permitted_subtrees=permitted, excluded_subtrees=None),
            critical=True,
        )
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(path, key_path, certificate, key)


def _server_certificate(
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    names: list[x509.GeneralName],
    now: datetime,
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    """Make a new key of this machine, and its certificate."""
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Turnwell on this machine")])
    until = min(now + SERVER_LIFE - CLOCK_SLACK, authority.not_valid_after_utc)
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    certificate = (
        _builder(subject, authority.subject, key.public_key(), now, until)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    return certificate, key


def _builder(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePublicKey,
    now: datetime,
    until: datetime,
) -> x509.CertificateBuilder:
    """Begin a certificate; it holds from a day ago, for tablets whose clock is late."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCK_SLACK)
        .not_valid_after(until)
    )


def _key_usage(
    *, digital_signature: bool = False, key_cert_sign: bool = False, crl_sign: bool = False
) -> x509.KeyUsage:
    """Give a key's allowed uses, all others off."""
    return x509.KeyUsage(
        digital_signature=digital_signature,
        key_cert_sign=key_cert_sign,
        crl_sign=crl_sign,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _owner(names: tuple[str, ...]) -> str:
    """Give what the authority is called after, within the 64 characters a common name may have."""
    return (names[0] if names else "this shop")[:50]


def _may_sign(authority: x509.Certificate, name: x509.GeneralName) -> bool:
    """Tell whether the authority's name constraints allow a name."""
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    return any(_covers(tree, name) for tree in constraints.permitted_subtrees or ())


def _covers(tree: x509.GeneralName, name: x509.GeneralName) -> bool:
    """Tell whether one permitted subtree covers a name."""
    if isinstance(tree, x509.DNSName) and isinstance(name, x509.DNSName):
        return name.value == tree.value or name.value.endswith("." + tree.value)
    if isinstance(tree, x509.IPAddress) and isinstance(name, x509.IPAddress):
        network, address = tree.value, name.value
        return (
            isinstance(network, IPv4Network | IPv6Network)
            and isinstance(address, IPv4Address | IPv6Address)
            and address in network
        )
    return False


def _is_due(path: Path, key_path: Path, now: datetime) -> bool:
    """Tell whether a certificate is missing, near its end, or not the one of its key."""
    if not (path.is_file() and key_path.is_file()):
        return True
    certificate = _read(path)
    is_pair = certificate.public_key() == _read_key(key_path).public_key()
    return not is_pair or certificate.not_valid_after_utc <= now + RENEW_BEFORE


def _names_in(server: Path) -> set[x509.GeneralName]:
    """Give the names a certificate holds for."""
    return set(_read(server).extensions.get_extension_for_class(x509.SubjectAlternativeName).value)


def _read(path: Path) -> x509.Certificate:
    """Read a certificate."""
    return x509.load_pem_x509_certificate(path.read_bytes())


def _read_key(path: Path) -> ec.EllipticCurvePrivateKey:
    """Read a key."""
    key = serialization.load_pem_private_key(path.read_bytes(), password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError(f"{path} holds another kind of key than this program makes")
    return key


def _write(
    path: Path, key_path: Path, certificate: x509.Certificate, key: ec.EllipticCurvePrivateKey
) -> None:
    """Write a certificate and its key, the key for its owner's eyes only."""
    pem = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    key_path.unlink(missing_ok=True)
    descriptor = os.open(key_path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(pem)
    path.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
