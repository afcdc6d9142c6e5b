"""Signing off for a station: who may sign, how long it counts, and what a scan knows of it.

Twelve months, a trainer who is signed off there: common practice, no source. Stations are
those of the demo workshop: N neck bench, B body bench.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from shop.craft.start import Person
from shop.people import badges
from shop.people.badges import NotSignedOff
from shop.people.models import Badge, Training
from tests.people.phones import PIN, enter

pytestmark = pytest.mark.django_db

MARCH = date(2031, 3, 3)
LATER = date(2031, 9, 1)
YEAR_ON = date(2032, 3, 3)


@pytest.fixture
def trainee(db: None) -> Badge:
    return badges.issue("P-25", PIN, ["trainee"], "N")


@pytest.fixture
def trainer(operator: Badge, lead: Badge) -> Badge:
    """P-11, signed off at the neck bench."""
    badges.train(operator, "N", lead, MARCH)
    return operator


def kept(code: str) -> dict[str, str]:
    trained: dict[str, str] = Badge.objects.get(code=code).trained
    return trained


@pytest.mark.parametrize(
    ("on", "until"),
    [
        (date(2031, 3, 3), date(2032, 3, 3)),  # 366 days: a 29 February lies between
        (date(2032, 3, 3), date(2033, 3, 3)),  # 365
        (date(2032, 2, 29), date(2033, 2, 28)),
        (date(2031, 2, 28), date(2032, 2, 28)),
        (date(2031, 12, 31), date(2032, 12, 31)),
    ],
)
def test_a_sign_off_counts_until_the_same_day_of_the_next_year(
    operator: Badge, lead: Badge, on: date, until: date
) -> None:
    """Leap years are those of the Gregorian calendar: 2032 is one, 2031 and 2033 are none."""
    assert badges.train(operator, "N", lead, on) == until
    assert kept("P-11") == {"N": until.isoformat()}


def test_a_sign_off_may_be_given_a_last_day(operator: Badge, lead: Badge) -> None:
    assert badges.train(operator, "N", lead, MARCH, LATER) == LATER
    assert kept("P-11") == {"N": "2031-09-01"}


def test_a_last_day_before_the_first_is_refused(operator: Badge, lead: Badge) -> None:
    with pytest.raises(NotSignedOff, match=r"The last day 2031-03-02 is before 2031-03-03\."):
        badges.train(operator, "N", lead, MARCH, date(2031, 3, 2))
    assert kept("P-11") == {}


def test_each_station_is_signed_off_by_itself(operator: Badge, lead: Badge) -> None:
    badges.train(operator, "N", lead, MARCH)
    badges.train(operator, "B", lead, LATER)
    assert kept("P-11") == {"N": "2032-03-03", "B": "2032-09-01"}


def test_a_renewal_is_another_row_and_the_first_stays_as_it_was(
    operator: Badge, lead: Badge
) -> None:
    badges.train(operator, "N", lead, MARCH)
    assert badges.train(operator, "N", lead, LATER) == date(2032, 9, 1)
    rows = Training.objects.values_list("on", "until")
    assert list(rows) == [(MARCH, YEAR_ON), (LATER, date(2032, 9, 1))]


def test_an_older_paper_entered_after_a_newer_one_shortens_nothing(
    operator: Badge, lead: Badge
) -> None:
    badges.train(operator, "N", lead, LATER)
    assert badges.train(operator, "N", lead, MARCH) == date(2032, 9, 1)
    assert kept("P-11") == {"N": "2032-09-01"}


def test_the_same_sign_off_sent_twice_is_one(operator: Badge, lead: Badge) -> None:
    assert {badges.train(operator, "N", lead, MARCH) for _ in range(2)} == {YEAR_ON}
    assert Training.objects.count() == 1


def test_the_badge_in_hand_knows_its_new_sign_off(operator: Badge, lead: Badge) -> None:
    badges.train(operator, "N", lead, MARCH)
    assert operator.trained == {"N": "2032-03-03"}


# --- who may sign ---


def test_a_trainer_who_is_signed_off_there_signs_others_off(trainer: Badge, other: Badge) -> None:
    assert badges.train(other, "N", trainer, LATER) == date(2032, 9, 1)


def test_nobody_signs_themself_off(trainer: Badge, lead: Badge) -> None:
    for badge in (trainer, lead):
        with pytest.raises(NotSignedOff, match="Choose somebody else as trainer"):
            badges.train(badge, "N", badge, MARCH)
    assert Training.objects.count() == 1


def test_a_trainer_of_another_station_is_refused(trainer: Badge, other: Badge) -> None:
    with pytest.raises(
        NotSignedOff, match=r"P-11 was not signed off for station B on 2031-03-03\. Choose"
    ):
        badges.train(other, "B", trainer, MARCH)
    assert kept("P-14") == {}


@pytest.mark.parametrize("on", [date(2031, 3, 2), date(2032, 3, 4)])
def test_a_trainer_whose_own_sign_off_does_not_cover_the_day_is_refused(
    trainer: Badge, other: Badge, on: date
) -> None:
    with pytest.raises(NotSignedOff, match="P-11 was not signed off"):
        badges.train(other, "N", trainer, on)


@pytest.mark.parametrize("on", [MARCH, YEAR_ON])
def test_a_trainer_signs_on_the_first_and_on_the_last_day(
    trainer: Badge, other: Badge, on: date
) -> None:
    badges.train(other, "N", trainer, on)
    assert "N" in kept("P-14")


def test_a_trainer_whose_sign_off_ended_later_could_sign_that_day(
    trainer: Badge, other: Badge, lead: Badge
) -> None:
    badges.end_training(trainer, "N", lead, LATER)
    assert badges.train(other, "N", trainer, date(2031, 8, 31)) == date(2032, 8, 31)
    with pytest.raises(NotSignedOff, match="P-11 was not signed off"):
        badges.train(other, "N", trainer, LATER)


def test_a_trainee_is_no_trainer_though_signed_off_there(
    trainee: Badge, other: Badge, lead: Badge
) -> None:
    badges.train(trainee, "N", lead, MARCH)
    with pytest.raises(NotSignedOff, match=r"P-25 still learns\."):
        badges.train(other, "N", trainee, MARCH)
    assert kept("P-14") == {}


def test_the_database_itself_keeps_a_badge_from_signing_itself_off(operator: Badge) -> None:
    with pytest.raises(IntegrityError, match="training_by_another"), transaction.atomic():
        Training.objects.create(
            badge=operator, station="N", signed_by=operator, on=MARCH, until=YEAR_ON
        )


# --- an end ---


def test_an_ended_sign_off_counted_to_the_day_before(trainer: Badge, lead: Badge) -> None:
    badges.end_training(trainer, "N", lead, LATER)
    assert kept("P-11") == {"N": "2031-08-31"}


def test_a_sign_off_can_be_ended_on_its_last_day(trainer: Badge, lead: Badge) -> None:
    badges.end_training(trainer, "N", lead, YEAR_ON)
    assert kept("P-11") == {"N": "2032-03-02"}


def test_an_end_is_a_row_of_its_own(trainer: Badge, lead: Badge) -> None:
    badges.end_training(trainer, "N", lead, LATER)
    rows = Training.objects.values_list("on", "until", "signed_by__code")
    assert list(rows) == [(MARCH, YEAR_ON, "P-01"), (LATER, date(2031, 8, 31), "P-01")]


def test_after_an_end_a_new_sign_off_counts_again(trainer: Badge, lead: Badge) -> None:
    badges.end_training(trainer, "N", lead, LATER)
    assert badges.train(trainer, "N", lead, LATER) == date(2032, 9, 1)


def test_an_end_leaves_the_other_stations_alone(trainer: Badge, lead: Badge) -> None:
    badges.train(trainer, "B", lead, MARCH)
    badges.end_training(trainer, "N", lead, LATER)
    assert kept("P-11")["B"] == "2032-03-03"


def test_a_lead_may_end_their_own_sign_off(operator: Badge, lead: Badge) -> None:
    chief = badges.issue("P-02", PIN, ["lead"])
    badges.train(lead, "N", chief, MARCH)
    badges.end_training(lead, "N", lead, LATER)
    assert kept("P-01") == {"N": "2031-08-31"}


@pytest.mark.parametrize(("station", "on"), [("B", LATER), ("N", date(2032, 3, 4))])
def test_what_does_not_count_is_not_ended(
    trainer: Badge, lead: Badge, station: str, on: date
) -> None:
    with pytest.raises(NotSignedOff, match=f"P-11 is not signed off for station {station} on {on}"):
        badges.end_training(trainer, station, lead, on)
    assert Training.objects.count() == 1


# --- what others are told ---


def test_the_rules_are_told_the_stations_with_their_last_days(trainer: Badge) -> None:
    assert badges.person(trainer) == Person("P-11", {"N": YEAR_ON})


def test_the_rules_are_told_who_still_learns(trainee: Badge) -> None:
    assert badges.person(trainee) == Person("P-25", {}, learns=True)


def test_a_lead_who_may_all_does_not_learn(lead: Badge) -> None:
    assert not badges.person(lead).learns


def test_a_badge_without_a_role_records_nothing_and_so_learns_nothing(db: None) -> None:
    assert not badges.person(badges.issue("P-77", PIN, [])).learns


def test_who_is_asking_is_known_with_training_in_two_statements(
    trainer: Badge, django_assert_num_queries: Any
) -> None:
    """The badge and its rights, as before there was training."""
    with django_assert_num_queries(2):
        badge = badges.BadgeBackend().get_user(trainer.pk)
        assert badge is not None
        assert badges.person(badge).trained == {"N": YEAR_ON}


def test_who_is_signed_off_is_listed_with_who_signed(
    trainer: Badge, other: Badge, lead: Badge, django_assert_num_queries: Any
) -> None:
    badges.train(other, "N", trainer, LATER)
    badges.train(trainer, "B", lead, LATER)
    with django_assert_num_queries(1):
        told = [(one.station, one.code, one.until, one.by) for one in badges.signed_off()]
    assert told == [
        ("B", "P-11", date(2032, 9, 1), "P-01"),
        ("N", "P-11", YEAR_ON, "P-01"),
        ("N", "P-14", date(2032, 9, 1), "P-11"),
    ]


def test_the_list_and_the_badges_tell_the_same(trainer: Badge, other: Badge, lead: Badge) -> None:
    badges.train(other, "N", trainer, LATER)
    badges.train(other, "N", lead, MARCH)
    badges.end_training(trainer, "N", lead, LATER)
    listed: dict[str, dict[str, str]] = {}
    for one in badges.signed_off():
        listed.setdefault(one.code, {})[one.station] = one.until.isoformat()
    assert listed == {code: kept(code) for code in ("P-11", "P-14")}


def test_a_badge_that_is_switched_off_is_not_listed(trainer: Badge) -> None:
    Badge.objects.filter(pk=trainer.pk).update(is_active=False)
    assert badges.signed_off() == []


@pytest.mark.usefixtures("clock")
def test_the_office_shows_the_sign_offs_of_a_badge_and_changes_none(
    phone: Client, trainer: Badge
) -> None:
    enter(phone, "P-01")
    address = f"/office/people/badge/{trainer.pk}/change/"
    assert "N until 2032-03-03" in phone.get(address).content.decode()
    sent = {"code": "P-11", "pin": "", "home_station": "B", "units": "mm", "is_active": "on"}
    assert phone.post(address, sent | {"trained": "{}", "signed_off": ""}).status_code == 302
    assert Badge.objects.get(code="P-11").home_station == "B"
    assert kept("P-11") == {"N": "2032-03-03"}
