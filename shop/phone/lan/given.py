"""A certificate that somebody else made and renews, for a name of one's own on the internet."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes
from cryptography.hazmat.primitives.serialization import Encoding, load_pem_private_key

from shop.phone.lan.authority import belongs, key_pem
from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import Unready


def take_over(folder: Folder, certificate: Path, key: Path, host: str, now: datetime) -> bool:
    """Keep a copy for the server to read; whether it is another one than before. The server
    wants one form of key, and the files that are given may be links that are turned elsewhere.

    Raises ``Unready``: for what cannot be read, does not fit, has ended or is not of ``host``.
    """
    chain, secret = _chain(certificate), _key(key)
    own = chain[0]
    if not belongs(secret, own):
        raise Unready(f"{key} is the key of another certificate than {certificate}.")
    until = own.not_valid_after_utc
    if now >= until:
        raise Unready(f"{certificate} ended on {until:%Y-%m-%d}. Renew it, then start again.")
    names = _names(own)
    if not any(covers(one, host) for one in names):
        raise Unready(
            f"{certificate} is of {', '.join(names) or 'no name'}, and phones look for {host}. "
            "Give that name as --address."
        )
    pem = key_pem(secret) + b"".join(one.public_bytes(Encoding.PEM) for one in chain)
    if folder.server_file.exists() and folder.server_file.read_bytes() == pem:
        return False
    folder.keep_server(pem)
    return True


def covers(pattern: str, host: str) -> bool:
    """Whether a name of a certificate covers a host (RFC 6125, 6.4.3).

    >>> covers("*.example.com", "shop.example.com"), covers("*.example.com", "example.com")
    (True, False)
    """
    pattern, host = pattern.lower(), host.lower()
    if pattern.startswith("*."):
        return host.partition(".")[2] == pattern[2:]
    return pattern == host


def _chain(path: Path) -> list[x509.Certificate]:
    try:
        return x509.load_pem_x509_certificates(path.read_bytes())
    except OSError as why:
        raise Unready(f"{path} cannot be read: {why.strerror}.") from why
    except ValueError as why:
        raise Unready(f"{path} is no certificate in the PEM form.") from why


def _key(path: Path) -> PrivateKeyTypes:
    try:
        return load_pem_private_key(path.read_bytes(), None)
    except OSError as why:
        raise Unready(f"{path} cannot be read: {why.strerror}.") from why
    except TypeError as why:
        raise Unready(f"{path} is locked with a password. Give the key without one.") from why
    except ValueError as why:
        raise Unready(f"{path} is no key in the PEM form.") from why


def _names(certificate: x509.Certificate) -> list[str]:
    try:
        found = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return []
    names = found.get_values_for_type(x509.DNSName)
    return [*names, *map(str, found.get_values_for_type(x509.IPAddress))]
