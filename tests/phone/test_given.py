"""A certificate that somebody else made for a name of one's own."""

from __future__ import annotations

import doctest
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
)
from cryptography.x509.oid import NameOID

from shop.phone.lan import given
from shop.phone.lan.given import take_over
from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import Unready
from tests.phone.test_authority import NOW

Key = ec.EllipticCurvePrivateKey | rsa.RSAPrivateKey


@pytest.fixture(scope="module")
def key() -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


def certificate(key: Key, *names: str, days: int = 90) -> bytes:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "somebody")])
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(NOW - timedelta(days=100))
        .not_valid_after(NOW + timedelta(days=days))
        .add_extension(x509.SubjectAlternativeName([*map(x509.DNSName, names)]), critical=False)
        .sign(key, hashes.SHA256())
    )
    return made.public_bytes(Encoding.PEM)


def secret(key: Key, form: PrivateFormat = PrivateFormat.PKCS8) -> bytes:
    return key.private_bytes(Encoding.PEM, form, NoEncryption())


class Files:
    """The two files as whoever made them left them."""

    def __init__(self, folder: Path) -> None:
        self.cert, self.key = folder / "fullchain.pem", folder / "privkey.pem"
        self.folder = Folder(folder / "lan")

    def put(self, certificate: bytes, key: bytes) -> None:
        self.cert.write_bytes(certificate)
        self.key.write_bytes(key)

    def take(self) -> bool:
        return take_over(self.folder, self.cert, self.key, "shop.example.com", NOW)

    def refusal(self) -> str:
        with pytest.raises(Unready) as why:
            self.take()
        assert not self.folder.server_file.exists()
        return str(why.value)


@pytest.fixture
def files(tmp_path: Path) -> Files:
    return Files(tmp_path)


@pytest.mark.parametrize("form", [PrivateFormat.PKCS8, PrivateFormat.TraditionalOpenSSL])
def test_it_is_kept_in_the_one_form_that_the_server_reads(
    files: Files, key: ec.EllipticCurvePrivateKey, form: PrivateFormat
) -> None:
    whole = certificate(key, "shop.example.com") + certificate(key, "of the maker")
    files.put(whole, secret(key, form))
    assert files.take()
    kept = files.folder.server_file.read_bytes()
    assert kept == secret(key) + whole
    assert files.folder.server_file.stat().st_mode & 0o777 == 0o600


def test_an_rsa_key_will_do(files: Files) -> None:
    key = rsa.generate_private_key(65537, 2048)
    files.put(certificate(key, "*.example.com"), secret(key))
    assert files.take()


def test_the_same_files_again_change_nothing_and_renewed_ones_do(
    files: Files, key: ec.EllipticCurvePrivateKey
) -> None:
    files.put(certificate(key, "shop.example.com"), secret(key))
    assert (files.take(), files.take()) == (True, False)
    files.put(certificate(key, "shop.example.com", days=180), secret(key))
    assert (files.take(), files.take()) == (True, False)


def test_what_does_not_fit_is_said(files: Files, key: ec.EllipticCurvePrivateKey) -> None:
    other = ec.generate_private_key(ec.SECP256R1())
    files.put(certificate(key, "shop.example.com"), secret(other))
    assert "privkey.pem is the key of another certificate than" in files.refusal()
    files.put(certificate(key, "shop.example.com", days=0), secret(key))
    assert "fullchain.pem ended on 2031-03-03. Renew it" in files.refusal()
    files.put(certificate(key, "example.com", "*.example.org"), secret(key))
    assert "is of example.com, *.example.org, and phones look for shop.example.com" in (
        files.refusal()
    )
    files.put(b"nothing", secret(key))
    assert "fullchain.pem is no certificate in the PEM form." in files.refusal()
    files.put(certificate(key, "shop.example.com"), b"nothing")
    assert "privkey.pem is no key in the PEM form." in files.refusal()
    locked = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"x"))
    files.put(certificate(key, "shop.example.com"), locked)
    assert "privkey.pem is locked with a password." in files.refusal()
    files.key.unlink()
    assert "privkey.pem cannot be read: No such file or directory." in files.refusal()


@pytest.mark.parametrize(
    ("pattern", "host", "covered"),
    [
        ("shop.example.com", "SHOP.example.com", True),
        ("*.example.com", "shop.example.com", True),
        ("*.example.com", "example.com", False),
        ("*.example.com", "a.shop.example.com", False),
        ("example.com", "shop.example.com", False),
    ],
)
def test_a_star_stands_for_one_word(pattern: str, host: str, covered: bool) -> None:
    """RFC 6125, 6.4.3."""
    assert given.covers(pattern, host) is covered


def test_the_examples_hold() -> None:
    tried = doctest.testmod(given)
    assert (tried.failed, tried.attempted > 0) == (0, True)
