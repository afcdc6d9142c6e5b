"""Https made ready at the start and renewed while the shop is open, on a clock that stands."""

from __future__ import annotations

import multiprocessing
import os
import stat
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from unittest import mock

import pytest
from django.core.checks import run_checks

from shop.phone import checks
from shop.phone.lan.authority import Pair, issued, new_authority
from shop.phone.lan.keeping import Folder
from shop.phone.lan.readying import Asked, Unready, ready, renewed
from tests.phone.test_authority import NOW, accepts

DAY = timedelta(days=1)
SHOP = Asked("shop.lan", 8443, "192.168.1.20", "works")


@pytest.fixture
def folder(tmp_path: Path) -> Folder:
    return Folder(tmp_path / "lan")


def leaf_of(folder: Folder) -> Pair:
    leaf = folder.leaf()
    assert leaf
    return leaf


def authority_of(folder: Folder) -> Pair:
    authority = folder.authority()
    assert authority
    return authority


def test_the_first_start_makes_all_and_says_so(folder: Folder) -> None:
    made = ready(folder, SHOP, NOW)
    assert made.origin == "https://shop.lan:8443"
    assert [one.partition(":")[0] for one in made.told] == ["Made", "Made"]
    assert accepts(authority_of(folder), leaf_of(folder), "shop.lan")


def test_the_next_start_changes_nothing_and_says_nothing(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    before = [one.read_bytes() for one in sorted(folder.path.iterdir())]
    assert ready(folder, SHOP, NOW + 300 * DAY).told == []
    assert [one.read_bytes() for one in sorted(folder.path.iterdir())] == before


def test_nobody_else_reads_what_is_kept(folder: Folder) -> None:
    old = os.umask(0)
    try:
        ready(folder, SHOP, NOW)
    finally:
        os.umask(old)
    assert stat.S_IMODE(folder.path.stat().st_mode) == 0o700
    modes = {one.name: stat.S_IMODE(one.stat().st_mode) for one in folder.path.iterdir()}
    assert modes == dict.fromkeys(("authority.pem", "server.pem", "address"), 0o600)


def test_a_folder_that_was_open_to_all_is_closed(folder: Folder) -> None:
    folder.path.mkdir(mode=0o755)
    ready(folder, SHOP, NOW)
    assert stat.S_IMODE(folder.path.stat().st_mode) == 0o700


@pytest.mark.parametrize(("left", "new"), [(30 * DAY + DAY / 24, False), (30 * DAY, True)])
def test_the_leaf_is_made_again_thirty_days_before_it_ends(
    folder: Folder, left: timedelta, new: bool
) -> None:
    ready(folder, SHOP, NOW)
    first, own = leaf_of(folder), authority_of(folder)
    made = ready(folder, SHOP, first.until - left)
    assert bool(made.told) is new
    assert (leaf_of(folder).der != first.der) is new
    assert authority_of(folder).der == own.der


@pytest.mark.parametrize(("left", "new"), [(30 * DAY + DAY / 24, False), (30 * DAY, True)])
def test_a_shop_that_is_open_for_a_year_renews_in_time(
    folder: Folder, left: timedelta, new: bool
) -> None:
    ready(folder, SHOP, NOW)
    first = leaf_of(folder)
    now = first.until - left
    made = renewed(folder, now)
    assert (made is not None) is new
    assert leaf_of(folder).names == first.names
    if made:
        assert leaf_of(folder).der == made.der
        assert accepts(authority_of(folder), made, "shop.lan", now + 60 * DAY)


def test_a_leaf_that_is_damaged_is_made_again(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    folder.server_file.write_bytes(b"-----BEGIN")
    assert renewed(folder, NOW)
    assert issued(authority_of(folder), leaf_of(folder))
    folder.server_file.unlink()
    assert "Made: the certificate" in ready(folder, SHOP, NOW).told[0]


def test_a_leaf_of_another_authority_is_made_again(folder: Folder, tmp_path: Path) -> None:
    other = Folder(tmp_path / "other")
    ready(other, SHOP, NOW)
    ready(folder, SHOP, NOW)
    folder.keep_server(leaf_of(other).pem)
    assert len(ready(folder, SHOP, NOW).told) == 1
    assert issued(authority_of(folder), leaf_of(folder))


def test_another_address_of_the_machine_makes_another_leaf_by_the_same_authority(
    folder: Folder,
) -> None:
    ready(folder, SHOP, NOW)
    own = authority_of(folder)
    made = ready(folder, Asked("", 8443, "192.168.7.9", "works"), NOW)
    assert made.origin == "https://shop.lan:8443"
    assert [one[:4] for one in made.told] == ["Made"]
    assert "192.168.7.9" in map(str, leaf_of(folder).names)
    assert authority_of(folder).der == own.der


def test_a_shop_known_by_its_address_says_that_the_machine_has_moved(folder: Folder) -> None:
    assert ready(folder, Asked("", 8443, "192.168.1.20", "works"), NOW).origin == (
        "https://192.168.1.20:8443"
    )
    made = ready(folder, Asked("", 8443, "192.168.7.9", "works"), NOW)
    assert made.origin == "https://192.168.1.20:8443", "phones know no other"
    assert "This machine is at 192.168.7.9 now" in made.told[-1]


def test_the_own_name_of_the_machine_can_follow_its_address(folder: Folder) -> None:
    ready(folder, Asked("", 8443, "192.168.1.20", "Works.example.com"), NOW)
    made = ready(folder, Asked("works.local", 443, "192.168.1.20", "works"), NOW)
    assert made.origin == "https://works.local"
    assert "Moved: phones knew the shop as https://192.168.1.20:8443" in made.told[-1]
    assert "--lan 192.168.1.20 --port 8443" in made.told[-1]


def refusal(folder: Folder, asked: Asked, now: datetime = NOW) -> str:
    """Why it is not made ready; nothing that is kept has changed by it."""
    before = {one: one.read_bytes() for one in folder.path.glob("*")}
    with pytest.raises(Unready) as why:
        ready(folder, asked, now)
    assert {one: one.read_bytes() for one in folder.path.glob("*")} == before
    return str(why.value)


def test_a_name_the_authority_may_not_speak_for_is_said(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    said = refusal(folder, Asked("other.lan", 8443, "192.168.1.20", "works"))
    assert "may not speak for other.lan" in said
    assert "every phone is set up with it once" in said


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("", "This machine has no address on a private network."),
        ("shop", "shop is one word. Give a name with an ending, as in --lan shop.lan."),
        ("8.8.8.8", "8.8.8.8 is not an address of a private network."),
        ("fd00::1", "fd00::1 is an address that no tag holds."),
        ("shop lan", "shop lan is no name of a machine."),
        ("192.168.1.300", "192.168.1.300 is no name of a machine."),
        (f"{'a' * 64}.lan", f"{'a' * 64}.lan is no name of a machine."),
        ("co.uk", "co.uk is a name of the internet."),
        ("com.es", "com.es is a name of the internet."),
        ("Shop.Works.COM.", "Shop.Works.COM. is a name of the internet."),
        ("home.arpa", "home.arpa is a name of the internet."),
    ],
)
def test_a_name_that_cannot_be_is_said(folder: Folder, name: str, said: str) -> None:
    assert refusal(folder, Asked(name, 8443, "", "works")).startswith(said)
    assert not folder.path.exists()


def test_with_a_name_of_the_internet_a_certificate_of_ones_own_is_pointed_to(
    folder: Folder,
) -> None:
    said = refusal(folder, Asked("shop.example.com", 8443, "192.168.1.20", "works"))
    assert "as in --lan shop.lan" in said
    assert said.endswith("use --address, --cert and --key.")
    assert len(said) <= 300, "shop/run shows no more"


@pytest.mark.parametrize("ending", ["lan", "local", "internal", "home", "home.arpa", "intranet"])
def test_every_ending_of_ones_own_network_is_taken(folder: Folder, ending: str) -> None:
    """RFC 6762, appendix G; RFC 8375; ICANN board resolution 2024.07.29.06."""
    made = ready(folder, Asked(f"shop.{ending}", 443, "192.168.1.20", "works"), NOW)
    assert made.origin == f"https://shop.{ending}"


def last_leaf(folder: Folder, left: timedelta) -> Pair:
    """The one that a start makes so long before the end of the authority."""
    ready(folder, SHOP, NOW)
    ready(folder, SHOP, authority_of(folder).until - left)
    return leaf_of(folder)


def test_the_last_certificate_says_that_an_authority_is_due(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    until = authority_of(folder).until
    made = ready(folder, SHOP, until - 300 * DAY)
    [told] = made.told
    assert told.startswith("Made: the certificate of shop.lan, good until 2041-03-01.")
    assert told.endswith("The authority ends with it: a new one is due by then.")
    assert leaf_of(folder).until == until


@pytest.mark.parametrize("left", [30 * DAY, 12 * DAY, DAY / 24])
def test_the_last_certificate_is_not_made_again(folder: Folder, left: timedelta) -> None:
    last = last_leaf(folder, 300 * DAY)
    assert ready(folder, SHOP, last.until - left).told == []
    with pytest.raises(Unready) as why:
        renewed(folder, last.until - left)
    assert str(why.value).startswith("It ends on 2041-03-01, and so does the authority “Heelcap ")
    assert f"move {folder.path} away" in str(why.value)
    assert leaf_of(folder).der == last.der


def test_the_last_certificate_is_made_again_for_an_address_it_lacks(folder: Folder) -> None:
    last = last_leaf(folder, 300 * DAY)
    ready(folder, Asked("", 8443, "192.168.7.9", "works"), last.until - 12 * DAY)
    made = leaf_of(folder)
    assert (made.der != last.der, made.until) == (True, last.until)


def test_one_that_ends_just_before_the_authority_is_made_again_once(folder: Folder) -> None:
    """It was made 400 days before that end, and the new one lasts four days longer."""
    first = last_leaf(folder, 400 * DAY)
    own = authority_of(folder)
    assert first.until < own.until
    made = renewed(folder, first.until - 30 * DAY)
    assert made
    assert made.until == own.until
    assert renewed(folder, first.until - 30 * DAY) is None, "more than thirty days are left"
    with pytest.raises(Unready, match="so does the authority"):
        renewed(folder, own.until - 30 * DAY)


def test_after_the_end_of_the_authority_nothing_is_made(folder: Folder) -> None:
    last = last_leaf(folder, 300 * DAY)
    assert "ended on 2041-03-01" in refusal(folder, SHOP, last.until)
    with pytest.raises(Unready, match="ended on 2041-03-01"):
        renewed(folder, last.until)


def test_an_authority_that_has_ended_is_said(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    assert "ended on 2041-03-01" in refusal(folder, SHOP, NOW + 3700 * DAY)


def test_a_damaged_authority_is_never_replaced(folder: Folder) -> None:
    ready(folder, SHOP, NOW)
    folder.authority_file.write_bytes(b"nothing")
    assert "is damaged. Put it back from your backup" in refusal(folder, SHOP)


def test_a_machine_that_lost_its_clock_makes_nothing(folder: Folder) -> None:
    said = refusal(folder, SHOP, datetime(1970, 1, 1, tzinfo=NOW.tzinfo))
    assert "says 1970-01-01. Set it first" in said


def test_of_two_that_start_at_once_one_authority_is_kept(folder: Folder) -> None:
    first, second = (new_authority(["shop.lan"], NOW) for _ in range(2))
    assert folder.keep_first_authority(first).der == first.der
    assert folder.keep_first_authority(second).der == first.der
    assert authority_of(folder).der == first.der
    assert [one.name for one in folder.path.iterdir()] == ["authority.pem"]


def _dies_at(step: str, path: Path, now: datetime) -> None:
    def die(*_: Any, **__: Any) -> None:
        os._exit(9)

    target: Any = Path if step == "replace" else os
    with mock.patch.object(target, step, die):
        renewed(Folder(path), now)


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_power_lost_between_writes_leaves_the_old_pair(folder: Folder, step: str) -> None:
    ready(folder, SHOP, NOW)
    first = leaf_of(folder)
    late = first.until - DAY
    killed = multiprocessing.get_context("fork").Process(
        target=_dies_at, args=(step, folder.path, late)
    )
    killed.start()
    killed.join()
    assert killed.exitcode == 9, "it was to die on the way"
    assert leaf_of(folder).der == first.der
    assert renewed(folder, late), "the next look makes it"
    assert leaf_of(folder).der != first.der


@pytest.mark.parametrize(("days", "said"), [(366, None), (365, "365 days"), (-5, "0 days")])
def test_the_end_of_the_authority_is_said_a_year_ahead(
    folder: Folder, settings: Any, monkeypatch: pytest.MonkeyPatch, days: int, said: str | None
) -> None:
    settings.LAN_DIR = folder.path
    ready(folder, SHOP, NOW)
    until = authority_of(folder).until

    class Clock(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Clock:
            at = until - timedelta(days=days)
            return cls.fromtimestamp(at.timestamp(), tz)

    monkeypatch.setattr(checks, "datetime", Clock)
    found = [one for one in run_checks() if (one.id or "").startswith("phone.")]
    assert [one.msg.partition(" are left")[0] for one in found] == ([said] if said else [])


def test_an_authority_that_cannot_be_read_is_said_at_the_start(
    folder: Folder, settings: Any
) -> None:
    settings.LAN_DIR = folder.path
    folder.path.mkdir()
    folder.authority_file.write_bytes(b"nothing")
    assert [one.id for one in checks.authority_lasts()] == ["phone.W001"]


def test_a_shop_without_an_authority_is_warned_of_nothing(tmp_path: Path, settings: Any) -> None:
    settings.LAN_DIR = tmp_path / "lan"
    assert checks.authority_lasts() == []
