"""Making certificates: the shop's own authority, and the leaf that its server shows.

Nothing here reads a file or a clock. X.509 is RFC 5280; names of sections are of it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from typing import Final, Self

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Address = IPv4Address | IPv6Address

_LABEL: Final = r"(?!-)[a-z0-9-]{1,63}(?<!-)"
_NAME: Final = re.compile(rf"(?=.{{1,64}}$){_LABEL}(?:\.{_LABEL})*")

CA_LIFE: Final = timedelta(days=3652)  # ten years
# Phones take 825 days from an authority of one's own (Apple, HT210176); 397 is what public
# ones kept to (CA/Browser Forum, Baseline Requirements 6.3.2).
LEAF_LIFE: Final = timedelta(days=397)
# A phone whose clock is behind would find a certificate that begins today not to be good yet.
BEFORE: Final = timedelta(days=1)
LAST_SECOND: Final = timedelta(seconds=1)  # both ends of a validity belong to it (4.1.2.5)

LOCALHOST: Final = "localhost"
OWN: Final = (ip_address("127.0.0.1"), ip_address("::1"))
# All that the authority may ever speak for beside its names: addresses that no router of the
# internet forwards (RFC 1918, 1122, 3927, 4193, 4291).
PRIVATE: Final = tuple(
    ip_network(one)
    for one in (
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
        *("fc00::/7", "fe80::/10", "::1/128"),
    )
)


@dataclass(frozen=True)
class Pair:
    """A certificate and its key."""

    key: ec.EllipticCurvePrivateKey
    certificate: x509.Certificate

    @classmethod
    def read(cls, pem: bytes) -> Self:
        """Raises ``ValueError`` for what is no such pair, or a key of another certificate."""
        key = load_pem_private_key(pem, None)
        certificate = x509.load_pem_x509_certificate(pem)
        if not isinstance(key, ec.EllipticCurvePrivateKey) or not belongs(key, certificate):
            raise ValueError("The key is of another certificate.")
        return cls(key, certificate)

    @property
    def pem(self) -> bytes:
        """Both in one text, so that one can never be kept without the other."""
        return key_pem(self.key) + self.certificate.public_bytes(Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The certificate alone."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def name(self) -> str:
        """What a phone calls it in its list."""
        [common] = self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
        return str(common.value)

    @property
    def until(self) -> datetime:
        return self.certificate.not_valid_after_utc

    @cached_property
    def names(self) -> frozenset[str | Address]:
        """What a leaf speaks for."""
        alternative = self.certificate.extensions.get_extension_for_class(
            x509.SubjectAlternativeName
        ).value
        return frozenset(
            (
                *alternative.get_values_for_type(x509.DNSName),
                *map(ip_address, map(str, alternative.get_values_for_type(x509.IPAddress))),
            )
        )


def key_pem(key: PrivateKeyTypes) -> bytes:
    """PKCS #8, the one form of key that the server reads."""
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def belongs(key: PrivateKeyTypes, certificate: x509.Certificate) -> bool:
    """Whether a certificate is of this key."""
    return key.public_key() == certificate.public_key()


def is_name(text: str) -> bool:
    """Whether this is a name of a machine, in small letters.

    >>> is_name("shop.lan"), is_name("shop lan"), is_name("-shop")
    (True, False, False)
    """
    return bool(_NAME.fullmatch(text))


def is_private(address: Address) -> bool:
    """Whether an address is one of the ranges the authority may speak for."""
    return any(address in network for network in PRIVATE if network.version == address.version)


def new_authority(names: Iterable[str], now: datetime) -> Pair:
    """An authority that can speak for these names, what lies below them, and private addresses;
    for nothing else, whoever gets hold of its key. ``names``: the shop's own is the first."""
    key = ec.generate_private_key(ec.SECP256R1())
    own = list(dict.fromkeys((*names, LOCALHOST)))
    identifier = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    # Of two that were made one after the other, a phone's list tells which is which.
    subject = _named(f"Heelcap {own[0][:48]} {identifier.digest[:2].hex().upper()}")
    permitted: list[x509.GeneralName] = [x509.DNSName(one) for one in own]
    permitted += [x509.IPAddress(one) for one in PRIVATE]
    made = (
        _begun(key, subject, subject, now - BEFORE, now - BEFORE + CA_LIFE - LAST_SECOND)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(identifier, critical=False)
        .sign(key, hashes.SHA256())
    )
    return Pair(key, made)


def new_leaf(
    authority: Pair, name: str | Address, addresses: Collection[Address], now: datetime
) -> Pair:
    """What the server shows, signed by the authority: for this name and these addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    until = leaf_until(authority, now)
    wanted = sorted(wanted_names(name, addresses), key=str)
    alternative = [
        x509.DNSName(one) if isinstance(one, str) else x509.IPAddress(one) for one in wanted
    ]
    made = (
        _begun(key, _named(str(name)), authority.certificate.subject, now - BEFORE, until)
        .add_extension(x509.SubjectAlternativeName(alternative), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key()),
            critical=False,
        )
        .sign(authority.key, hashes.SHA256())
    )
    return Pair(key, made)


def leaf_until(authority: Pair, now: datetime) -> datetime:
    """When a leaf ends that is made now; none outlives its authority."""
    return min(now - BEFORE + LEAF_LIFE - LAST_SECOND, authority.until)


def wanted_names(name: str | Address, addresses: Collection[Address]) -> frozenset[str | Address]:
    """All that a leaf is to speak for."""
    return frozenset((name, LOCALHOST, *addresses, *OWN))


def permits(authority: Pair, name: str | Address) -> bool:
    """Whether the authority may speak for a name or an address (4.2.1.10)."""
    constraints = authority.certificate.extensions.get_extension_for_class(x509.NameConstraints)
    for one in constraints.value.permitted_subtrees or ():
        if isinstance(name, str) and isinstance(one, x509.DNSName):
            if f".{name}".endswith(f".{one.value}"):
                return True
        elif not isinstance(name, str) and isinstance(one, x509.IPAddress):
            network = one.value
            if not isinstance(network, IPv4Address | IPv6Address) and name in network:
                return True
    return False


def issued(authority: Pair, leaf: Pair) -> bool:
    """Whether a leaf was signed by this authority."""
    try:
        leaf.certificate.verify_directly_issued_by(authority.certificate)
    except (InvalidSignature, TypeError, ValueError):
        return False
    return True


def _named(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])


def _begun(
    key: ec.EllipticCurvePrivateKey,
    subject: x509.Name,
    issuer: x509.Name,
    since: datetime,
    until: datetime,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(since)
        .not_valid_after(until)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    """What a key is for: signing certificates, or the hand-shake of a connection (4.2.1.3)."""
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )
