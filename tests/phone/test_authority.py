"""The certificates, judged by others: the verifiers of cryptography and of OpenSSL."""

from __future__ import annotations

import doctest
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from shop.craft import fingerprint
from shop.phone.lan import authority
from shop.phone.lan.authority import Address, Pair, new_authority, new_leaf, permits

NOW = datetime(2031, 3, 3, 9, 30, tzinfo=UTC)
HERE = ip_address("192.168.1.20")


@pytest.fixture(scope="module")
def own() -> Pair:
    return new_authority(["shop.lan", "works.local"], NOW)


@pytest.fixture(scope="module")
def leaf(own: Pair) -> Pair:
    return new_leaf(own, "shop.lan", [HERE], NOW)


def accepts(own: Pair, leaf: Pair, name: str | Address, at: datetime = NOW) -> bool:
    """Whether path validation after RFC 5280 takes a leaf for a name, as cryptography does it."""
    subject = x509.DNSName(name) if isinstance(name, str) else x509.IPAddress(name)
    verifier = (
        PolicyBuilder().store(Store([own.certificate])).time(at).build_server_verifier(subject)
    )
    try:
        verifier.verify(leaf.certificate, [])
    except VerificationError:
        return False
    return True


def openssl(own: Pair, leaf: Pair, folder: Path, *words: str) -> str:
    """What ``openssl verify`` says: "" when it takes the leaf."""
    program = shutil.which("openssl")
    assert program, "openssl is part of every Debian and is not here: apt-get install openssl"
    (folder / "ca.pem").write_bytes(own.certificate.public_bytes(Encoding.PEM))
    (folder / "leaf.pem").write_bytes(leaf.certificate.public_bytes(Encoding.PEM))
    done = subprocess.run(
        [
            *(program, "verify", "-x509_strict", "-purpose", "sslserver"),
            *("-attime", f"{NOW.timestamp():.0f}", "-CAfile", "ca.pem", *words, "leaf.pem"),
        ],
        cwd=folder,
        capture_output=True,
        text=True,
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


@pytest.mark.parametrize("name", ["shop.lan", "localhost", HERE, ip_address("127.0.0.1")])
def test_the_leaf_is_taken_for_every_name_it_has(
    own: Pair, leaf: Pair, name: str | Address
) -> None:
    assert accepts(own, leaf, name)


@pytest.mark.parametrize("name", ["works.local", "a.shop.lan", ip_address("192.168.1.21")])
def test_the_leaf_is_taken_for_no_other(own: Pair, leaf: Pair, name: str | Address) -> None:
    assert not accepts(own, leaf, name)


@pytest.mark.parametrize("words", [("-verify_hostname", "shop.lan"), ("-verify_ip", str(HERE))])
def test_openssl_takes_the_leaf(
    own: Pair, leaf: Pair, tmp_path: Path, words: tuple[str, str]
) -> None:
    assert openssl(own, leaf, tmp_path, *words) == ""


def test_a_leaf_of_another_authority_is_refused(leaf: Pair, tmp_path: Path) -> None:
    other = new_authority(["shop.lan"], NOW)
    assert not accepts(other, leaf, "shop.lan")
    assert "unable to get local issuer certificate" in openssl(other, leaf, tmp_path)


@pytest.mark.parametrize(
    "name", ["example.com", "notshop.lan", "lan", "local", ip_address("8.8.8.8"),
             ip_address("2001:db8::1"), ip_address("172.32.0.1")]
)  # fmt: skip
def test_a_stolen_key_speaks_for_nothing_outside(
    own: Pair, name: str | Address, tmp_path: Path
) -> None:
    """Name constraints, RFC 5280 section 4.2.1.10: the authority itself is made to sign it."""
    stolen = new_leaf(own, name, [], NOW)
    assert not permits(own, name)
    assert not accepts(own, stolen, name)
    assert "permitted subtree violation" in openssl(own, stolen, tmp_path)


@pytest.mark.parametrize(
    "name", ["shop.lan", "a.shop.lan", "works.local", "localhost", HERE, ip_address("10.255.0.1"),
             ip_address("172.31.0.1"), ip_address("fd12::1")]
)  # fmt: skip
def test_what_it_may_speak_for_is_taken(own: Pair, name: str | Address, tmp_path: Path) -> None:
    made = new_leaf(own, name, [], NOW)
    assert permits(own, name)
    assert accepts(own, made, name)
    assert openssl(own, made, tmp_path) == ""


def test_the_authority_cannot_make_another(own: Pair, tmp_path: Path) -> None:
    """A path length of 0 (RFC 5280, 4.2.1.9): what it signs signs nothing."""
    below = new_authority(["shop.lan"], NOW)
    builder = x509.CertificateBuilder(
        own.certificate.subject, below.certificate.subject, below.key.public_key(),
        x509.random_serial_number(), NOW - timedelta(1), NOW + timedelta(90),
        list(below.certificate.extensions),
    )  # fmt: skip
    between = builder.add_extension(
        x509.AuthorityKeyIdentifier.from_issuer_public_key(own.key.public_key()), critical=False
    ).sign(own.key, hashes.SHA256())
    leaf = new_leaf(below, "shop.lan", [], NOW)
    (tmp_path / "between.pem").write_bytes(between.public_bytes(Encoding.PEM))
    said = openssl(own, leaf, tmp_path, "-untrusted", "between.pem")
    assert "path length constraint exceeded" in said


def test_phones_take_how_long_the_leaf_lasts(leaf: Pair) -> None:
    """Apple, HT210176: 825 days at most, both ends included; CA/Browser Forum, Baseline
    Requirements 6.3.2: 397 days, at most 398."""
    lasts = leaf.until - leaf.certificate.not_valid_before_utc + timedelta(seconds=1)
    assert lasts == timedelta(days=397)
    assert lasts <= timedelta(days=398) < timedelta(days=825)


def test_apples_other_demands_are_met(leaf: Pair) -> None:
    """Apple, HT210176: a key of 2048 bits or its like, SHA-2, names in the alternative name,
    EKU id-kp-serverAuth."""
    certificate = leaf.certificate
    assert isinstance(certificate.signature_hash_algorithm, hashes.SHA256)
    assert isinstance(leaf.key.curve, ec.SECP256R1)
    usage = certificate.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert leaf.names == {"shop.lan", "localhost", HERE, *authority.OWN}


def test_a_phone_whose_clock_is_23_hours_behind_takes_it(own: Pair, leaf: Pair) -> None:
    assert accepts(own, leaf, "shop.lan", NOW - timedelta(hours=23))
    assert not accepts(own, leaf, "shop.lan", NOW - timedelta(hours=25))


def test_it_ends_when_it_says(own: Pair, leaf: Pair) -> None:
    assert accepts(own, leaf, "shop.lan", leaf.until)
    assert not accepts(own, leaf, "shop.lan", leaf.until + timedelta(seconds=1))


def test_the_authority_lasts_ten_years_and_no_leaf_outlives_it(own: Pair) -> None:
    assert own.until.date().isoformat() == "2041-03-01"
    late = new_leaf(own, "shop.lan", [], own.until - timedelta(days=60))
    assert late.until == own.until
    assert accepts(own, late, "shop.lan", own.until)


@pytest.mark.parametrize(
    ("kind", "critical"),
    [
        (x509.BasicConstraints, True), (x509.KeyUsage, True), (x509.NameConstraints, True),
        (x509.SubjectKeyIdentifier, False),
    ],
)  # fmt: skip
def test_the_authority_says_what_it_is(own: Pair, kind: Any, critical: bool) -> None:
    """RFC 5280, 4.2.1: constraints and usage of an authority are critical."""
    assert own.certificate.extensions.get_extension_for_class(kind).critical is critical


def test_each_leaf_names_its_authoritys_key(own: Pair, leaf: Pair) -> None:
    """RFC 5280, 4.2.1.1 and 4.2.1.2."""
    subject = own.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    issuer = leaf.certificate.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value
    assert issuer.key_identifier == subject.digest


def test_two_authorities_of_one_shop_are_told_apart() -> None:
    names = {new_authority(["shop.lan"], NOW).name for _ in range(3)}
    assert len(names) == 3
    assert all(one.startswith("Heelcap shop.lan ") for one in names)


def test_a_pair_is_read_as_it_was_written(own: Pair) -> None:
    assert Pair.read(own.pem).der == own.der


def test_a_key_of_another_certificate_is_no_pair(own: Pair, leaf: Pair) -> None:
    mixed = authority.key_pem(own.key) + leaf.certificate.public_bytes(Encoding.PEM)
    with pytest.raises(ValueError, match="another certificate"):
        Pair.read(mixed)


def test_private_is_what_no_router_forwards() -> None:
    """RFC 1918, 3927, 4193 and 4291; the standard library keeps IANA's registry of its own."""
    assert all(one.is_private for one in authority.PRIVATE)
    for first in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7"):
        assert ip_network(first) in authority.PRIVATE


def test_the_fingerprint_is_the_one_openssl_tells(own: Pair, tmp_path: Path) -> None:
    (tmp_path / "ca.der").write_bytes(own.der)
    told = subprocess.run(
        ["openssl", "x509", "-inform", "der", "-in", "ca.der", "-noout", "-fingerprint", "-sha256"],
        cwd=tmp_path, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    groups = fingerprint.fingerprint(own.der)
    assert len(groups) == 16
    assert "".join(groups) == told.strip().partition("=")[2].replace(":", "")


@pytest.mark.parametrize("module", [authority, fingerprint])
def test_the_examples_hold(module: Any) -> None:
    tried = doctest.testmod(module)
    assert tried.attempted > 0
    assert tried.failed == 0
