"""Who is asking? Signing in with badge and PIN on a phone that many hands share.

Wrong PINs cost growing time and then the badge is locked until a lead unlocks it.
The time is kept with the badge, not with the phone: another phone does not help.

A second badge may stand beside the one at the phone: a trainer, or a witness. It is kept in
the session of the first and goes with it: at its end, when the phone was idle, when another
badge signs in.
"""

from __future__ import annotations

import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.hashers import make_password
from django.contrib.auth.models import Group, Permission
from django.contrib.sessions.backends.base import SessionBase
from django.db import connection, transaction
from django.db.models import Q, QuerySet

from shop.craft.code import Kind, mint
from shop.craft.start import Person
from shop.database.statement import Statement
from shop.people.models import Badge
from shop.people.pins import is_pin
from shop.people.roles import codename, holds

# The room's door to sign-offs as well; they are kept in a file of their own.
from shop.people.training import NotSignedOff as NotSignedOff
from shop.people.training import SignedOff as SignedOff
from shop.people.training import end_training as end_training
from shop.people.training import learns as learns
from shop.people.training import signed_off as signed_off
from shop.people.training import train as train
from shop.people.training import year_after as year_after

# Seconds to wait after the n-th wrong PIN in a row; none for the first two slips.
WAITS_S: Final = (0, 0, 10, 30, 120, 600)
# The wrong PIN that locks the badge.
LOCK_AT: Final = 7

BESIDE: Final = "beside"
# What a second badge must hold: it answers for a record as the first one does.
BESIDE_RIGHT: Final = "step.record"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why this person is not signed in, and what to do."""

    words: str
    then: str


def sign_in(code: str, pin: str, now: datetime) -> Badge | Refusal:
    """The badge if the PIN is right, else why not. Counts what is wrong.

    A try counts as wrong before the PIN is looked at, and is forgotten when it was right:
    many tries at one moment then cost as much as one after another, and the slow hash
    keeps no other writer waiting.
    """
    # PostgreSQL takes no zero character in a text, and no badge has one.
    asked = code.replace("\0", "").strip().upper()
    with transaction.atomic():
        badge = Badge.objects.select_for_update().filter(code=asked, is_active=True).first()
        if badge is not None:
            if (barred := _barred(badge, now)) is not None:
                return barred
            wrong = _count_wrong_pin(badge, now)
    if badge is None:
        make_password(pin)  # takes as long as a real check: tells a stranger nothing
        return Refusal(f"Badge {asked} is not known here.", "Check the badge, or ask your lead.")
    if not badge.check_password(pin):
        return wrong
    _forget_wrong_pins(badge)
    return badge


def _barred(badge: Badge, now: datetime) -> Refusal | None:
    """Why no PIN is looked at now, if so."""
    if badge.locked:
        return Refusal(
            f"Badge {badge.code} is locked after {LOCK_AT} wrong PINs.",
            "Ask a lead to unlock it.",
        )
    if badge.wait_until and now < badge.wait_until:
        left = int((badge.wait_until - now).total_seconds()) + 1
        return Refusal(f"Wait {left} s before the next try.", "Then enter your PIN again.")
    return None


def _count_wrong_pin(badge: Badge, now: datetime) -> Refusal:
    badge.wrong_pins += 1
    badge.locked = badge.wrong_pins >= LOCK_AT
    wait_s = WAITS_S[min(badge.wrong_pins, len(WAITS_S)) - 1]
    badge.wait_until = now + timedelta(seconds=wait_s) if wait_s else None
    badge.save(update_fields=["wrong_pins", "locked", "wait_until"])
    if badge.locked:
        return Refusal(
            f"{badge.wrong_pins} wrong PINs: badge {badge.code} is locked.",
            "Ask a lead to unlock it.",
        )
    left = LOCK_AT - badge.wrong_pins
    then = f"{left} tries left, then a lead must unlock the badge."
    if wait_s:
        return Refusal(f"Wrong PIN. Wait {wait_s} s.", then)
    return Refusal("Wrong PIN.", then)


def _forget_wrong_pins(badge: Badge) -> None:
    badge.wrong_pins, badge.wait_until, badge.locked = 0, None, False
    badge.save(update_fields=["wrong_pins", "wait_until", "locked"])


def unlock(code: str) -> bool:
    """Unlock a badge after wrong PINs. False when no such badge is locked or waiting."""
    with transaction.atomic():
        badge = Badge.objects.select_for_update().filter(code=code).first()
        if badge is None or not (badge.locked or badge.wrong_pins):
            return False
        _forget_wrong_pins(badge)
        return True


def issue(code: str, pin: str, roles: Sequence[str], home_station: str = "") -> Badge:
    """Make a badge with its card code, or renew PIN and roles of one that exists.

    Raises ``ValueError`` when the PIN is not 4 to 8 digits or a role does not exist.
    """
    if not is_pin(pin):
        raise ValueError(f"PIN of {len(pin)} characters for {code}: give 4 to 8 digits.")
    groups = list(Group.objects.filter(name__in=roles))
    if missing := set(roles) - {group.name for group in groups}:
        raise ValueError(f"No such role for {code}: {', '.join(sorted(missing))}.")
    with transaction.atomic():
        badge = Badge.objects.filter(code=code).first() or Badge(code=code)
        give_card(badge)
        badge.home_station = home_station
        badge.is_staff = "lead" in roles
        badge.set_password(pin)
        badge.full_clean(exclude=["password"])
        badge.save()
        badge.groups.set(groups)
    return badge


def give_card(badge: Badge) -> None:
    """A code for the QR on the badge's card, if it has none yet."""
    badge.card = badge.card or mint(Kind.CARD, secrets.randbelow)


# What a person chooses about their screens, and what there is to choose from.
CHOICES: Final = {
    "language": dict(Badge.LANGUAGES),
    "units": dict(Badge.UNITS),
    "thumb": dict(Badge.THUMBS),
    "text_size": dict(Badge.SIZES),
}


def choose(badge: Badge, what: str, how: str) -> bool:
    """Have the screens so from now on, on every phone. False when there is no such choice."""
    if how not in CHOICES.get(what, {}):
        return False
    Badge.objects.filter(pk=badge.pk).update(**{what: how})
    return True


def on_the_floor(right: str = "") -> list[dict[str, str]]:
    """Every active badge with its roles and its home station, for a list one taps; with a
    right, those that hold it."""
    badges = Badge.objects.filter(is_active=True).prefetch_related("groups")
    if right:
        badges = badges.filter(_holding(right))
    return [
        {
            "code": badge.code,
            "roles": ", ".join(sorted(group.name for group in badge.groups.all())),
            "home": badge.home_station,
        }
        for badge in badges
    ]


@dataclass(frozen=True, slots=True)
class Card:
    """What stands on a badge's card. ``card`` is its code, empty where it has none yet; ``home``
    the code of its station."""

    badge: str
    card: str
    roles: tuple[str, ...]
    home: str
    active: bool


def cards(codes: Sequence[str]) -> dict[str, Card]:
    """The cards of these badges by code, in two statements for any number of them."""
    badges = Badge.objects.filter(code__in=codes).prefetch_related("groups")
    return {
        badge.code: Card(
            badge=badge.code,
            card=badge.card or "",
            roles=tuple(sorted(group.name for group in badge.groups.all())),
            home=badge.home_station,
            active=badge.is_active,
        )
        for badge in badges
    }


def _holding(right: str) -> Q:
    """Badges with the right, as :func:`shop.people.roles.holds` finds it."""
    through = Badge.objects.filter(
        groups__permissions__codename=codename(right),
        groups__permissions__content_type__app_label="people",
    )
    return Q(is_superuser=True) | Q(pk__in=through.order_by().values("pk"))


def active(code: str) -> Badge | None:
    """The badge of this number, unless it is switched off."""
    return Badge.objects.filter(code=code, is_active=True).first()


def person(badge: Badge) -> Person:
    """The badge as the trade's rules know it."""
    trained = {station: date.fromisoformat(until) for station, until in badge.trained.items()}
    return Person(badge.code, trained, learns(badge), holds(badge, "instrument.settle"))


def locked() -> list[dict[str, Any]]:
    """Badges that are locked or made to wait, for the lead."""
    rows = Badge.objects.filter(wrong_pins__gt=0)
    return [dict(row) for row in rows.values("code", "wrong_pins", "locked", "wait_until")]


def of_card(card: str) -> str | None:
    """The badge code a badge card's QR stands for."""
    return Badge.objects.filter(card=card, is_active=True).values_list("code", flat=True).first()


BADGE_COLUMNS: Final = [field.attname for field in Badge._meta.concrete_fields]
RIGHT_COLUMNS: Final = ("content_type__app_label", "codename")


def _rows(badges: QuerySet[Badge]) -> QuerySet[Badge, tuple[Any, ...]]:
    return badges.filter(is_active=True).order_by().values_list(*BADGE_COLUMNS)


_BADGE = Statement(lambda pk: _rows(Badge.objects.filter(pk=pk)), int)
_BESIDE = Statement(
    lambda pk: _rows(Badge.objects.filter(_holding(BESIDE_RIGHT), pk=pk, locked=False)), int
)
_RIGHTS = Statement(
    lambda pk: Permission.objects.filter(group__user=pk).order_by().values_list(*RIGHT_COLUMNS),
    int,
)


def _badge(rows: list[tuple[Any, ...]]) -> Badge | None:
    """The badge of a composed statement's row, which holds JSON as the database does: as text."""
    for row in rows:
        badge = Badge.from_db(connection.alias, BADGE_COLUMNS, row)
        badge.trained = json.loads(badge.trained)
        return badge
    return None


def beside(session: SessionBase) -> Badge | None:
    """Who stands beside the badge at the phone, if anybody does whose badge still counts."""
    kept = session.get(BESIDE)
    return _badge(_BESIDE.rows(kept[1])) if kept else None


def stand_beside(session: SessionBase, badge: Badge) -> None:
    """This badge signs beside the one at the phone from now on."""
    session[BESIDE] = [badge.code, badge.pk]


def leave_beside(session: SessionBase) -> None:
    """Nobody stands beside the badge at the phone any more."""
    session.pop(BESIDE, None)


def _rights(badge: Badge) -> list[tuple[Any, ...]]:
    if badge.is_superuser:
        return list(Permission.objects.values_list(*RIGHT_COLUMNS))
    return _RIGHTS.rows(badge.pk)


class BadgeBackend(BaseBackend):
    """Rights come from the badge's groups alone, in one statement a request."""

    def get_user(self, user_id: int) -> Badge | None:
        return _badge(_BADGE.rows(user_id))

    def get_all_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        if not user_obj.is_active or user_obj.is_anonymous or obj is not None:
            return set()
        if not hasattr(user_obj, "_rights"):
            user_obj._rights = {f"{room}.{name}" for room, name in _rights(user_obj)}
        rights: set[str] = user_obj._rights
        return rights

    def has_perm(self, user_obj: Any, perm: str, obj: Any = None) -> bool:
        return perm in self.get_all_permissions(user_obj, obj)

    def has_module_perms(self, user_obj: Any, app_label: str) -> bool:
        return any(one.startswith(f"{app_label}.") for one in self.get_all_permissions(user_obj))
