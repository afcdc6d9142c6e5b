"""The sheet on the wall by which a phone is set up for https on the shop's own network."""

from __future__ import annotations

from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import NameOID
from django.conf import settings

from shop.craft.fingerprint import fingerprint
from shop.paper.symbol import symbol


def phone_sheet() -> dict[str, Any]:
    """The two squares and what is compared. Raises ``FileNotFoundError`` where the shop has no
    authority of its own."""
    pem = (settings.LAN_DIR / "authority.pem").read_bytes()
    authority = x509.load_pem_x509_certificate(pem)
    [name] = authority.subject.get_attributes_for_oid(NameOID.COMMON_NAME)
    return {
        "name": name.value,
        "until": authority.not_valid_after_utc,
        "groups": fingerprint(authority.public_bytes(Encoding.DER)),
        "here": settings.SIDE_ADDRESS,
        "here_square": symbol(settings.SIDE_ADDRESS.upper()),
        "shop": settings.ADDRESS,
        "shop_square": symbol(settings.ADDRESS.upper()),
    }
