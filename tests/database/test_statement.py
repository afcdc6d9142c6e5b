"""Statements composed once answer and write exactly as Django's own do."""

from __future__ import annotations

import itertools
import uuid
from datetime import UTC, datetime

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from shop.database.statement import Insertion, Statement
from shop.floor.models import Entry
from shop.people.models import Badge

pytestmark = pytest.mark.django_db
AT = datetime(2031, 3, 3, 9, 30, 15, 123456, tzinfo=UTC)  # invented
PLACES = itertools.count(1)  # in the chain of the loose rows


def an_entry(badge: Badge, key: uuid.UUID) -> Entry:
    return Entry(
        key=key,
        fingerprint="f",
        subject="Q-1043",
        kind="step",
        outcome="refused",
        findings=[{"words": "8.35 in 8.73: −0.38"}],
        data={"operation": "N40", "none": None},
        by=badge,
        who=badge.code,
        at=AT,
        seq=next(PLACES),
        form=1,
        link="0" * 64,
    )


@pytest.fixture
def badge() -> Badge:
    return Badge.objects.create_user("P-1", "1111")


def test_a_row_added_reads_back_as_a_row_saved(badge: Badge) -> None:
    added, saved = an_entry(badge, uuid.uuid4()), an_entry(badge, uuid.uuid4())
    Insertion(Entry).add(added)
    saved.save()
    columns = ("subject", "kind", "outcome", "findings", "data", "by_id", "at", "claimed_at")
    both = {tuple(map(repr, row)) for row in Entry.objects.values_list(*columns)}
    assert len(both) == 1
    assert Entry.objects.get(pk=added.pk).key == added.key


def test_a_row_added_knows_its_key_and_that_it_is_kept(badge: Badge) -> None:
    entry = an_entry(badge, uuid.uuid4())
    Insertion(Entry).add(entry)
    with pytest.raises(PermissionError):
        entry.save()
    assert Entry.objects.filter(pk=entry.pk).exists()


def test_a_row_that_breaks_a_constraint_is_not_added(badge: Badge) -> None:
    key, insertion = uuid.uuid4(), Insertion(Entry)
    insertion.add(an_entry(badge, key))
    with pytest.raises(IntegrityError), transaction.atomic():
        insertion.add(an_entry(badge, key))


@pytest.mark.parametrize("column", ["id", "subject", "key"])
def test_a_look_up_finds_what_django_finds(badge: Badge, column: str) -> None:
    wanted = an_entry(badge, uuid.uuid4())
    wanted.subject = "Q-7"
    for one in (wanted, an_entry(badge, uuid.uuid4())):
        one.save()
    value = getattr(wanted, column)
    names = ("id", "subject", "key", "at")
    look_up = Statement(
        lambda given: Entry.objects.filter(**{column: given}).values_list("id", "subject", "at"),
        type(value),
    )
    (found,) = look_up.rows(value)
    assert found == Entry.objects.filter(pk=wanted.pk).values_list(*names[:2], "at").get()


def test_a_true_in_the_condition_is_not_taken_for_the_value_one() -> None:
    """Python holds that ``True == 1``."""
    first = Badge.objects.create_user("P-1", "1111")
    first.is_active = False
    first.save()
    look_up = Statement(
        lambda pk: Badge.objects.filter(pk=pk, is_active=True).values_list("code"), int
    )
    assert look_up.rows(first.pk) == []


def test_the_second_time_nothing_is_composed() -> None:
    built = []

    def build(pk: int) -> object:
        built.append(pk)
        return Badge.objects.filter(pk=pk).values_list("code")

    look_up = Statement(build, int)  # type: ignore[arg-type]  # object: all it needs is a query
    with CaptureQueriesContext(connection) as caught:
        look_up.rows(1)
        look_up.rows(2)
    assert (len(built), len(caught)) == (1, 2)
