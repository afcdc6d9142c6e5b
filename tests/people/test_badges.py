"""Badge and PIN: what wrong PINs cost, who unlocks, and what a stranger learns."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import MD5PasswordHasher
from django.test import Client
from django.utils import timezone

import shop.settings
from shop.people import badges
from shop.people.badges import Refusal
from shop.people.models import Badge
from tests.floor.morning import NOW
from tests.people.phones import PIN, Clock, enter

# What the n-th wrong PIN in a row costs, in seconds: the shop's own choice.
COST_S = [0, 0, 10, 30, 120, 600]
WRONG = "0000"


def wrong_times(number: int) -> Refusal:
    """So many wrong PINs, each as soon as it is allowed; the last answer."""
    at = NOW
    for _ in range(number):
        answer = badges.sign_in("P-11", WRONG, at)
        at = Badge.objects.get(code="P-11").wait_until or at
    assert isinstance(answer, Refusal)
    return answer


@pytest.mark.usefixtures("operator")
def test_the_right_pin_signs_in() -> None:
    answer = badges.sign_in("P-11", PIN, NOW)
    assert isinstance(answer, Badge)
    assert answer.code == "P-11"


@pytest.mark.usefixtures("operator")
@pytest.mark.parametrize("typed", ["p-11", " P-11 ", "P-11\0"])
def test_a_badge_number_may_be_typed_carelessly(typed: str) -> None:
    assert isinstance(badges.sign_in(typed, PIN, NOW), Badge)


@pytest.mark.usefixtures("operator")
@pytest.mark.parametrize(("number", "seconds"), list(enumerate(COST_S, start=1)))
def test_each_wrong_pin_after_the_second_costs_a_longer_wait(number: int, seconds: int) -> None:
    at = NOW
    for _ in range(number):
        tried_at = at
        badges.sign_in("P-11", WRONG, at)
        wait_until = Badge.objects.get(code="P-11").wait_until
        at = wait_until or at
    assert at - tried_at == timedelta(seconds=seconds)


@pytest.mark.usefixtures("operator")
def test_during_the_wait_even_the_right_pin_is_not_looked_at() -> None:
    wrong_times(3)
    answer = badges.sign_in("P-11", PIN, NOW + timedelta(seconds=4))
    assert isinstance(answer, Refusal)
    assert answer.words == "Wait 7 s before the next try."


@pytest.mark.usefixtures("operator")
def test_when_the_wait_is_over_the_right_pin_signs_in() -> None:
    wrong_times(3)
    assert isinstance(badges.sign_in("P-11", PIN, NOW + timedelta(seconds=10)), Badge)


@pytest.mark.usefixtures("operator", "clock")
def test_another_phone_does_not_shorten_the_wait(phone: Client) -> None:
    for _ in range(3):
        enter(phone, "P-11", WRONG)
    answer = enter(Client(), "P-11")
    assert answer.status_code == 401
    assert answer.context["refusal"].words == "Wait 11 s before the next try."


@pytest.mark.usefixtures("operator")
def test_a_right_pin_forgets_the_wrong_ones_before_it() -> None:
    wrong_times(2)
    badges.sign_in("P-11", PIN, NOW)
    badge = Badge.objects.get(code="P-11")
    assert (badge.wrong_pins, badge.wait_until, badge.locked) == (0, None, False)


@pytest.mark.usefixtures("operator")
def test_the_seventh_wrong_pin_locks_the_badge() -> None:
    assert "is locked" in wrong_times(7).words


@pytest.mark.usefixtures("operator")
def test_a_locked_badge_stays_locked_however_long_one_waits() -> None:
    wrong_times(7)
    answer = badges.sign_in("P-11", PIN, NOW + timedelta(days=365))
    assert isinstance(answer, Refusal)
    assert answer.then == "Ask a lead to unlock it."


@pytest.mark.usefixtures("operator")
def test_a_badge_that_is_unlocked_takes_its_pin_again() -> None:
    wrong_times(7)
    assert badges.unlock("P-11")
    assert isinstance(badges.sign_in("P-11", PIN, NOW), Badge)


@pytest.mark.usefixtures("operator")
@pytest.mark.parametrize("code", ["P-11", "P-99"])
def test_unlocking_what_is_not_locked_says_that_nothing_was_done(code: str) -> None:
    assert not badges.unlock(code)


@pytest.mark.usefixtures("operator", "other")
def test_the_lead_is_shown_badges_that_wait_and_no_others() -> None:
    wrong_times(3)
    assert [row["code"] for row in badges.locked()] == ["P-11"]


@pytest.mark.usefixtures("operator")
def test_a_try_is_counted_before_its_pin_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that many tries at the same moment cost as many as one after another."""
    counted: list[int] = []

    def look(badge: Badge, _: str) -> bool:
        counted.append(Badge.objects.get(pk=badge.pk).wrong_pins)
        return True

    monkeypatch.setattr(Badge, "check_password", look)
    badges.sign_in("P-11", PIN, NOW)
    assert counted == [1]


def test_a_switched_off_badge_is_told_nothing_that_an_unknown_one_is_not(operator: Badge) -> None:
    Badge.objects.filter(pk=operator.pk).update(is_active=False)
    off = badges.sign_in("P-11", PIN, NOW)
    unknown = badges.sign_in("P-12", PIN, NOW)
    assert isinstance(off, Refusal)
    assert isinstance(unknown, Refusal)
    assert off == Refusal(unknown.words.replace("P-12", "P-11"), unknown.then)


@pytest.mark.usefixtures("operator")
def test_an_unknown_badge_takes_as_much_hashing_as_a_wrong_pin(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    hashed: list[str] = []
    encode = MD5PasswordHasher.encode

    def counting(hasher: Any, pin: str, *rest: Any) -> str:
        hashed.append(pin)
        return encode(hasher, pin, *rest)

    monkeypatch.setattr(MD5PasswordHasher, "encode", counting)
    badges.sign_in("P-11", WRONG, NOW)
    known = len(hashed)
    badges.sign_in("P-99", WRONG, NOW)
    assert len(hashed) - known == known == 1


def test_the_shop_hashes_pins_with_argon2_and_nothing_else() -> None:
    assert shop.settings.PASSWORD_HASHERS == ["django.contrib.auth.hashers.Argon2PasswordHasher"]


@pytest.mark.real_pins
def test_a_pin_is_kept_as_argon2id_of_at_least_the_recommended_cost(operator: Badge) -> None:
    """Argon2id of RFC 9106, encoded as ``$argon2id$v=19$m=,t=,p=$``. The least cost is that of
    the OWASP Password Storage Cheat Sheet (19 MiB, 2 passes, 1 lane; from memory).
    """
    name, variant, version, cost, *_ = operator.password.split("$")
    spent = dict(pair.split("=") for pair in cost.split(","))
    assert (name, variant, version) == ("argon2", "argon2id", "v=19")
    assert int(spent["m"]) >= 19 * 1024
    assert int(spent["t"]) >= 2
    assert int(spent["p"]) >= 1


@pytest.mark.django_db
@pytest.mark.parametrize("pin", ["", "123", "123456789", "12a4", "12 34"])
def test_a_pin_that_is_not_four_to_eight_digits_is_not_issued(pin: str) -> None:
    with pytest.raises(ValueError, match="give 4 to 8 digits"):
        badges.issue("P-11", pin, ["operator"])


@pytest.mark.django_db
def test_a_badge_of_no_role_of_the_shop_is_not_issued() -> None:
    with pytest.raises(ValueError, match="No such role for P-11: captain"):
        badges.issue("P-11", PIN, ["captain"])


def test_a_card_stands_for_its_badge(operator: Badge) -> None:
    assert badges.of_card(operator.card or "") == "P-11"


def test_a_card_of_a_switched_off_badge_stands_for_nobody(operator: Badge) -> None:
    Badge.objects.filter(pk=operator.pk).update(is_active=False)
    assert badges.of_card(operator.card or "") is None


def test_a_new_pin_leaves_the_card_as_it_is(operator: Badge) -> None:
    assert badges.issue("P-11", "9999", ["operator"]).card == operator.card


def test_a_badge_that_is_switched_off_is_signed_out_at_once(
    operator: Badge, phone: Client, clock: Clock
) -> None:
    enter(phone, "P-11")
    Badge.objects.filter(pk=operator.pk).update(is_active=False)
    clock.pass_s(1)
    assert phone.get("/probe/").status_code == 401


@pytest.mark.usefixtures("operator")
def test_a_sign_in_is_dated_by_the_server(phone: Client, clock: Clock) -> None:
    enter(phone, "P-11")
    assert Badge.objects.get(code="P-11").last_login == clock.now == timezone.now()
