"""Making ready, on every start and once an hour while the shop is open: what is missing is
made, what ends soon or speaks for too little is made again."""

from __future__ import annotations

import ipaddress
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from shop.craft.hosts import of_the_internet
from shop.phone.lan.authority import (
    Address,
    Pair,
    is_name,
    is_private,
    issued,
    leaf_until,
    new_authority,
    new_leaf,
    permits,
    wanted_names,
)
from shop.phone.lan.keeping import Folder

RENEW_BEFORE: Final = timedelta(days=30)
WARN_BEFORE: Final = timedelta(days=365)  # of the authority: every phone has to be visited
# A machine without a battery for its clock starts long ago.
NO_EARLIER: Final = datetime(2025, 1, 1, tzinfo=UTC)
HTTPS_PORT: Final = 443  # need not be written


class Unready(Exception):
    """Https cannot be served, or not for much longer; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What who starts the shop has said. ``name``: "" for what phones know already, or else
    this machine's address. ``here``: that address, "" on no network. ``host``: its own name."""

    name: str
    port: int
    here: str
    host: str


@dataclass(frozen=True, slots=True)
class Ready:
    """``origin``: what phones open. ``told``: what is new, in sentences."""

    origin: str
    told: Sequence[str]


def ready(folder: Folder, asked: Asked, now: datetime) -> Ready:
    """Everything made that is needed to serve https. Raises ``Unready``, with nothing changed."""
    if now < NO_EARLIER:
        raise Unready(
            f"The clock of this machine says {now:%Y-%m-%d}. Set it first: a certificate made now "
            "would have ended before it is used."
        )
    kept = folder.address()
    here = _here(asked.here)
    name = _name(asked.name or (kept[0] if kept else "") or str(here or ""))
    told = []
    authority = _read_authority(folder)
    if authority is None:
        authority = folder.keep_first_authority(new_authority(_own_names(name, asked.host), now))
        told.append(
            f"Made: the authority “{authority.name}”, good until {authority.until:%Y-%m-%d}. Keep "
            f"{folder.path} in your backup: phones trust this one and no other."
        )
    if made := _judged(folder, authority, name, here, now):
        then = (
            f"It is made again by itself {RENEW_BEFORE.days} days before."
            if made.until < authority.until
            else "The authority ends with it: a new one is due by then."
        )
        told.append(f"Made: the certificate of {name}, good until {made.until:%Y-%m-%d}. {then}")
    if kept and kept != (str(name), asked.port):
        told.append(_moved(origin_of(*kept), origin_of(str(name), asked.port), kept))
    if isinstance(name, ipaddress.IPv4Address) and here and here != name:
        told.append(
            f"This machine is at {here} now, and phones look for it at {name}. Have the router "
            f"give it {name} for good."
        )
    folder.keep_address(str(name), asked.port)
    return Ready(origin_of(str(name), asked.port), told)


def renewed(folder: Folder, now: datetime) -> Pair | None:
    """The new leaf, if the one that is served ends soon: for the same names by the same
    authority. Raises ``Unready``, also where a new one would end no later."""
    authority, leaf = _read_authority(folder), _read_leaf(folder)
    kept = folder.address()
    if authority is None or kept is None:
        raise Unready(f"{folder.path} has lost its authority or its address. Start Heelcap again.")
    name = _name(kept[0])
    if leaf and not _due(authority, leaf, now):
        if now < leaf.until - RENEW_BEFORE:
            return None
        raise Unready(
            f"It ends on {leaf.until:%Y-%m-%d}, and so does the authority “{authority.name}”. On a "
            f"quiet day before then move {folder.path} away and start again: a new one is made, "
            "and every phone is set up with it once. Send first what phones hold."
        )
    addresses = {one for one in (leaf.names if leaf else ()) if not isinstance(one, str)}
    return _made(folder, authority, name, addresses, now)


def origin_of(name: str, port: int) -> str:
    return f"https://{name}" if port == HTTPS_PORT else f"https://{name}:{port}"


def days_left(until: datetime, now: datetime) -> int:
    return (until - now).days


def _judged(
    folder: Folder, authority: Pair, name: str | Address, here: Address | None, now: datetime
) -> Pair | None:
    """Sees to a leaf that speaks for all it should; the new one, if it had to be made."""
    addresses = {one for one in (here, name) if one is not None and not isinstance(one, str)}
    leaf = _read_leaf(folder)
    if (
        leaf is not None
        and leaf.certificate.not_valid_before_utc <= now
        and not _due(authority, leaf, now)
        and wanted_names(name, addresses) == leaf.names
        and issued(authority, leaf)
    ):
        return None
    return _made(folder, authority, name, addresses, now)


def _due(authority: Pair, leaf: Pair, now: datetime) -> bool:
    """Whether a leaf ends soon, and a new one would end later; or has ended."""
    if now < leaf.until - RENEW_BEFORE:
        return False
    return now >= leaf.until or leaf_until(authority, now) > leaf.until


def _made(
    folder: Folder,
    authority: Pair,
    name: str | Address,
    addresses: set[Address],
    now: datetime,
) -> Pair:
    if now >= authority.until:
        raise Unready(
            f"The authority “{authority.name}” ended on {authority.until:%Y-%m-%d}. Move "
            f"{folder.path} away and start again: a new one is made, and every phone is set up "
            "with it once."
        )
    if not permits(authority, name):
        raise Unready(
            f"The authority that your phones trust, “{authority.name}”, may not speak for {name}. "
            f"Use the name it was made for, or move {folder.path} away and start again: a new one "
            "is made, and every phone is set up with it once."
        )
    made = new_leaf(authority, name, addresses, now)
    folder.keep_server(made.pem)
    return made


def _moved(before: str, after: str, kept: tuple[str, int]) -> str:
    return (
        f"Moved: phones knew the shop as {before}, it is {after} now. What a phone has not sent "
        f"yet stays behind at {before}, and the tags that hang name it. To undo this, start with "
        f"--lan {kept[0]} --port {kept[1]}."
    )


def _here(text: str) -> Address | None:
    """This machine's address where the authority may speak for it."""
    try:
        found = ipaddress.ip_address(text)
    except ValueError:
        return None
    return found if is_private(found) and not found.is_loopback else None


def _name(text: str) -> str | Address:
    """What phones call the shop."""
    if not text:
        raise Unready(
            "This machine has no address on a private network. Connect it, or give the name that "
            "phones find it by, as in --lan shop.lan."
        )
    try:
        found = ipaddress.ip_address(text)
    except ValueError:
        return _word(text)
    if found.version != 4:
        raise Unready(
            f"{text} is an address that no tag holds. Give a name, or an address like 192.168.1.20."
        )
    if not is_private(found):
        raise Unready(
            f"{text} is not an address of a private network. Give a name, as in --lan shop.lan; "
            "with a name of your own on the internet, use --cert and --key."
        )
    return found


def _word(text: str) -> str:
    low = text.lower().rstrip(".")
    if not is_name(low) or low.rpartition(".")[2].isdigit():
        raise Unready(
            f"{text} is no name of a machine. Give letters, digits, hyphens and dots, "
            "as in --lan shop.lan."
        )
    if "." not in low:
        # What lies below a permitted name is permitted too, and one word may be a whole ending
        # of the internet.
        raise Unready(f"{text} is one word. Give a name with an ending, as in --lan {low}.lan.")
    if of_the_internet(low):
        # The authority would speak for what lies below it, the sites of others included.
        raise Unready(
            f"{text} is a name of the internet. Give one that ends in .lan, .local, .internal or "
            ".home.arpa, as in --lan shop.lan; for a name of your own on the internet, get a "
            "certificate and use --address, --cert and --key."
        )
    return low


def _own_names(name: str | Address, host: str) -> list[str]:
    """What a new authority may speak for, the name in use first: what this machine calls itself
    as well, so that a shop that began with an address can go on by name."""
    names = [name] if isinstance(name, str) else []
    local = f"{host.lower().split('.')[0]}.local"
    return [*names, local if is_name(local) else "shop.local"]


def _read_authority(folder: Folder) -> Pair | None:
    try:
        return folder.authority()
    except ValueError as why:
        raise Unready(
            f"{folder.authority_file} is damaged. Put it back from your backup; without one move "
            "it away and start again: a new one is made, and every phone is set up with it once."
        ) from why


def _read_leaf(folder: Folder) -> Pair | None:
    """A leaf that is damaged is as good as none: it is made again."""
    try:
        return folder.leaf()
    except ValueError:
        return None
