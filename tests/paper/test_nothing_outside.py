"""Whatever somebody writes into a field, paper takes it as words and loads nothing by it."""

from __future__ import annotations

from typing import Any
from unittest import mock

import pytest
from django.db.models import QuerySet

from shop.catalogue.models import Item, Operation, SpecRevision, Station, Wood
from shop.floor import board, door
from shop.floor.models import Deviation, Gauge, Instrument
from shop.paper import press, typesetting
from shop.paper.forms import FORMS
from shop.paper.refusing import AddressUnfit
from shop.people.models import Badge
from shop.stock.models import Bin, Lot
from tests.floor.morning import NOW, act, forget, now
from tests.paper import everything
from tests.paper.reading import squeezed, words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("floor")]

# Each loads something if it is not taken as words; in all, every way out there is.
WAYS_OUT = ["<img src=file:///e><img src=http://e/>", "<img src=../e><img src=data:,e>"]
DEVIATES = "Q-1044"
# They print none of these fields, or what was frozen before anything was written into them.
PRINT_NONE = {"neck_tag", "hold_card", "as_built", "slot_label"}


@pytest.fixture(scope="module")
def floor(morning: None, django_db_blocker: Any) -> None:
    with django_db_blocker.unblock():
        everything.come_about()


def written_everywhere(way_out: str) -> None:
    """Into every field of the office pages and of the floor that a form prints."""
    fields: list[tuple[QuerySet[Any], str]] = [
        (Item.objects.all(), "name"),
        (SpecRevision.objects.all(), "finish"),
        (SpecRevision.objects.all(), "joint"),
        (Operation.objects.all(), "name"),
        (Operation.objects.all(), "limits"),
        (Operation.objects.all(), "caution"),
        (Station.objects.all(), "name"),
        (Station.objects.all(), "caution"),
        (Wood.objects.filter(pk=Wood.objects.values("pk")[:1]), "name"),
        (Gauge.objects.all(), "words"),
        (Instrument.objects.all(), "order"),
        (Instrument.objects.all(), "destination"),
        (Deviation.objects.all(), "words"),
        (Deviation.objects.all(), "approved"),
    ]
    for rows, name in fields:
        longest = rows.model._meta.get_field(name).max_length
        assert rows.update(**{name: way_out[:longest]}), (rows.model, name)
    found = door.DefectFound(now(everything.REWORKED).id, "chip", "finish chip", "", way_out)
    assert door.record(act("P-22", "I"), found).done
    forget()


@pytest.mark.parametrize("way_out", WAYS_OUT)
@pytest.mark.parametrize("form", FORMS)
def test_what_is_written_into_a_field_is_printed_as_words_and_loads_nothing(
    form: str, way_out: str
) -> None:
    name = everything.printable(form)
    written_everywhere(way_out)
    loaded: list[str] = []

    def noted(_: Any, url: str, *__: Any) -> Any:
        loaded.append(url)
        raise typesetting.Refused(url)

    names = [name, DEVIATES] if form == "traveller" else [name]
    with mock.patch.object(typesetting.OwnFilesOnly, "fetch", noted):
        sheaf = press.draw(form, names, NOW)
    assert sheaf.refused == []
    assert loaded == []
    text = words(press.bound(sheaf.pdf, ""))
    assert (squeezed(way_out)[:12] in text) == (form not in PRINT_NONE)


@pytest.mark.parametrize("way_out", WAYS_OUT)
def test_names_of_the_shelf_and_of_badges_load_nothing_either(way_out: str) -> None:
    """These are what a label is asked for by, so each is written anew by itself."""
    lot = Lot.objects.filter(on_hand__gt=0)[0]
    Lot.objects.filter(pk=lot.pk).update(code=way_out[:12], plating=way_out[:12])
    of_badge = Badge.objects.filter(card__isnull=False)[0]
    Badge.objects.filter(pk=of_badge.pk).update(code="<IMG SRC")
    Bin.objects.filter(pk=lot.bin_id).update(code="<IMG SRC")
    loaded: list[str] = []

    def noted(_: Any, url: str, *__: Any) -> Any:
        loaded.append(url)
        raise typesetting.Refused(url)

    asked = (("lot_label", str(lot.pk)), ("badge_card", "<IMG SRC"), ("bin_label", "<IMG SRC"))
    with mock.patch.object(typesetting.OwnFilesOnly, "fetch", noted):
        sheaves = {form: press.draw(form, [name], NOW) for form, name in asked}
    assert loaded == []
    assert squeezed(way_out[:12]) in words(press.bound(sheaves["lot_label"].pdf, ""))
    assert "<IMGSRC" in words(press.bound(sheaves["badge_card"].pdf, ""))
    # No square holds such a letter.
    [(_name, why)] = sheaves["bin_label"].refused
    assert isinstance(why, AddressUnfit)


def test_a_page_that_would_load_something_is_seen_here() -> None:
    """Holds the measure of the test before: not escaped, the same words do load."""
    for way_out in WAYS_OUT:
        with pytest.raises(typesetting.Refused):
            typesetting.lay_out(
                f"<html><body>{way_out.replace('data:,e', '/e')}</body>", ("plain",)
            )


def test_a_custom_order_prints_its_deviations_as_words() -> None:
    written_everywhere(WAYS_OUT[0])
    text = words(press.proof("traveller", [DEVIATES], NOW))
    one: board.State = now(DEVIATES)
    for told in one.departures:
        assert squeezed(f"{told.words} ({told.approved})") in text
