"""The lot's own certificate, for phones in the yard: an authority of its own, and a leaf.

The authority is bound to private addresses and this host's names (name constraints), so that a
phone that trusts it trusts it for this lot and nothing else.
"""

from __future__ import annotations

import ipaddress
import socket
from datetime import timedelta
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from sillway.store.clock import now
from sillway.store.folder import Folder, write_whole
from sillway.store.limits import limit

_PRIVATE: Final = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "fc00::/7")
# An address kept for documentation (RFC 5737): asking the way to it sends nothing.
_NOWHERE: Final = ("192.0.2.1", 9)


def lan_names() -> tuple[list[str], list[str]]:
    """This host's names and its addresses in the local network."""
    host = socket.gethostname().split(".")[0] or "lot"
    addresses = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_NOWHERE)
            addresses.append(probe.getsockname()[0])
        except OSError:
            pass
    return [f"{host}.local", host, "localhost"], [*dict.fromkeys([*addresses, "127.0.0.1"])]


def own_certificate(folder: Folder, names: list[str], addresses: list[str]) -> tuple[Path, Path]:
    """Certificate and key for these names; made or renewed where needed."""
    certificate, key_path = folder.tls / "lot.pem", folder.tls / "lot.key"
    if certificate.exists() and key_path.exists() and _holds(certificate, names, addresses):
        return certificate, key_path
    authority, authority_key = _authority(folder, names, addresses)
    key = ec.generate_private_key(ec.SECP256R1())
    sans: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    sans += [x509.IPAddress(ipaddress.ip_address(one)) for one in addresses]
    leaf = (
        _builder(names[0], key, limit("certificate.days"))
        .issuer_name(authority.subject)
        .add_extension(x509.SubjectAlternativeName(sans), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()),
            critical=False,
        )
        .sign(authority_key, SHA256())
    )
    write_whole(key_path, _pem(key))
    write_whole(certificate, leaf.public_bytes(Encoding.PEM), 0o644)
    return certificate, key_path


def fingerprint(folder: Folder) -> str:
    """SHA-256 of the authority, to compare on the phone before trusting it."""
    path = folder.tls / "authority.pem"
    digest = x509.load_pem_x509_certificate(path.read_bytes()).fingerprint(SHA256())
    return ":".join(f"{byte:02X}" for byte in digest)


def _holds(certificate: Path, names: list[str], addresses: list[str]) -> bool:
    try:
        found = x509.load_pem_x509_certificate(certificate.read_bytes())
    except ValueError:
        return False
    sans = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    known = set(sans.get_values_for_type(x509.DNSName))
    known |= {str(one) for one in sans.get_values_for_type(x509.IPAddress)}
    late = now() + timedelta(days=limit("certificate.renew"))
    return found.not_valid_after_utc > late and set(names) | set(addresses) <= known


def _authority(
    folder: Folder, names: list[str], addresses: list[str]
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    path, key_path = folder.tls / "authority.pem", folder.tls / "authority.key"
    if path.exists() and key_path.exists():
        key = load_pem_private_key(key_path.read_bytes(), None)
        found = x509.load_pem_x509_certificate(path.read_bytes())
        if (
            isinstance(key, ec.EllipticCurvePrivateKey)
            and found.not_valid_after_utc > now()
            and _covers(found, names, addresses)
        ):
            return found, key
    key = ec.generate_private_key(ec.SECP256R1())
    allowed: list[x509.GeneralName] = [x509.DNSName(name) for name in (*names, "local")]
    public = [one for one in addresses if not _private(one)]
    allowed += [x509.IPAddress(ipaddress.ip_network(one)) for one in (*_PRIVATE, *public)]
    usage = x509.KeyUsage(
        digital_signature=True, key_cert_sign=True, crl_sign=True, content_commitment=False,
        key_encipherment=False, data_encipherment=False, key_agreement=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    builder = _builder(f"sillway lot {names[0]}", key, limit("certificate.authority_days"))
    made = (
        builder.issuer_name(_name(f"sillway lot {names[0]}"))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .sign(key, SHA256())
    )
    write_whole(key_path, _pem(key))
    write_whole(path, made.public_bytes(Encoding.PEM), 0o644)
    return made, key


def _private(address: str) -> bool:
    one = ipaddress.ip_address(address)
    return any(one in ipaddress.ip_network(net) for net in _PRIVATE)


def _covers(authority: x509.Certificate, names: list[str], addresses: list[str]) -> bool:
    """Whether the authority may vouch for these; if not, phones must install a new one."""
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    allowed = {str(one.value) for one in limits.permitted_subtrees or ()}
    extra = {str(ipaddress.ip_network(one)) for one in addresses if not _private(one)}
    return set(names) | extra <= allowed


def _builder(name: str, key: ec.EllipticCurvePrivateKey, days: int) -> x509.CertificateBuilder:
    # A minute back, for clocks that are a little behind.
    begin = now() - timedelta(minutes=1)
    return (
        x509.CertificateBuilder()
        .subject_name(_name(name))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(begin + timedelta(days=days))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _name(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
