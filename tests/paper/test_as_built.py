"""The as-built record on paper: one A4 page, all from what was frozen, the same in ten
years but for when it was printed and which copy it is."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from typing import Any
from unittest import mock

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.catalogue import revising
from shop.catalogue.models import Item, Operation, SpecRevision
from shop.craft import record
from shop.floor import board
from shop.floor.models import Instrument
from shop.paper import press, typesetting
from shop.paper.facts.as_built import NotReadable, NotReleased
from shop.paper.forms import FORMS
from tests.floor.morning import now
from tests.floor.released import go_on
from tests.paper.reading import ink, pages, pictures, sizes_mm, squeezed
from tests.paper.reading import words as printed_words

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("released")]

A4_MM = (210, 297)  # ISO 216:2007, as several public tables give it
# Heights of capitals and figures in mm; common practice, no source.
LAST_FOUR_MM, MODEL_MM, TEXT_MM = 12, 6, 2.5
SERIALS = ("Q-1043", "Q-1055")  # few lines, and many: electronics, left-handed, for export


@pytest.fixture(scope="module")
def released(morning: None, django_db_blocker: Any) -> Iterator[dict[str, datetime]]:
    """When each of them was released."""
    with django_db_blocker.unblock():
        yield {serial: go_on(serial) for serial in SERIALS}


def printed(serial: str, years: int = 0) -> bytes:
    at = datetime(2031 + years, 3, 10, 9, 30, tzinfo=now(serial).body_came.tzinfo)
    return press.proof("as_built", [serial], at)


@pytest.mark.parametrize("serial", SERIALS)
def test_it_is_one_page_of_a4(serial: str) -> None:
    [size] = sizes_mm(printed(serial))
    assert size == pytest.approx(A4_MM, abs=0.1)


@pytest.mark.parametrize("serial", SERIALS)
def test_every_operation_stands_on_it_with_badge_and_moment(serial: str) -> None:
    text = printed_words(printed(serial))
    kept = board.as_built(now(serial).id)
    assert kept is not None
    assert len(kept["operations"]) > 25
    for one in kept["operations"]:
        line = f"{one['code']}{one['name']}{one['by']}{record.when(one['at'])}"
        assert squeezed(line) in text


@pytest.mark.parametrize("serial", SERIALS)
def test_every_item_stands_on_it_with_its_lot(serial: str) -> None:
    text = printed_words(printed(serial))
    kept = board.as_built(now(serial).id)
    assert kept is not None
    for one in kept["kit"]:
        lot = f"lot {one['lot']}" if one["lot"] else "no lot on record"
        assert squeezed(f"{one['key']} {one['name']}, {lot}") in text
    if serial == "Q-1055":
        assert squeezed("best before 2034-03-01") in text


def test_every_measure_stands_on_it() -> None:
    text = printed_words(printed("Q-1043"))
    for told in ("Post hole: 8.73 mm at 6 places", "relief 0.20 mm", "Pilot bit: 1.4 mm"):
        assert squeezed(told) in text


def test_a_wood_with_its_paper_noted_and_one_repair_stay_on_the_one_page() -> None:
    kept = board.as_built(now("Q-1055").id)
    assert kept is not None
    more = {
        "permits": [{"wood": "Dalbergia nigra", "number": "N-4471/31", "by": "P-01",
                     "at": "2031-03-08T16:00+00:00"}],
        "reworks": [{"loop": "cosmetic", "word": "chip", "words": "finish, zone 6",
                     "found_at": "I10", "opened": "2031-03-04T10:00+00:00",
                     "repaired": "2031-03-04T11:00+00:00", "repaired_by": "P-61",
                     "closed": "2031-03-04T12:00+00:00"}],
    }  # fmt: skip
    with mock.patch.object(board, "as_built", return_value=kept | more):
        [page] = pages(printed("Q-1055"))
    assert "N-4471/31" in page.text
    assert "ShippedCarton" in page.text


def test_hold_inspections_and_where_it_goes_stand_on_it() -> None:
    text = printed_words(printed("Q-1055"))
    for told in ("I10 Inspect: P-31", "I30 Inspect again: P-32", "Goes to Norway", "Cased 2031-"):
        assert squeezed(told) in text


def test_it_tells_from_the_build_to_the_carton_in_this_order() -> None:
    """Common practice, no source. What is not known here has a line to be written on."""
    text = printed_words(printed("Q-1055"))
    wanted = (
        "1055WOLD", "BodyQ-1055", "tracefile", "Hardware", "Gluelots", "OpWork", "Measured",
        "Rework", "Daysinthecase", "Inspectedby", "Woods", "Dalbergianigra", "ShippedCarton",
    )  # fmt: skip
    places = [text.find(one) for one in wanted]
    assert -1 not in places
    assert places == sorted(places)


def test_serial_and_link_tie_the_paper_to_the_journal() -> None:
    text = printed_words(printed("Q-1043"))
    kept = board.as_built(now("Q-1043").id)
    assert kept is not None
    assert squeezed("Body Q-1043, neck K-2081") in text
    assert kept["journal"]["link"][:16] in text
    assert squeezed(f"rows 1 to {kept['journal']['rows']} of its journal") in text


@pytest.mark.parametrize("serial", SERIALS)
def test_it_is_readable_at_a_desk_and_across_a_bench(serial: str) -> None:
    [page] = pages(printed(serial))
    assert max(min(one) for one in page.heights_of(serial[-4:])) >= LAST_FOUR_MM
    assert max(min(one) for one in page.heights_of(now(serial).sheet.spec.key)) >= MODEL_MM
    told = [one for one in page.glyphs if one.char.isdigit() or one.char.isupper()]
    assert min(one.height for one in told) >= TEXT_MM


@pytest.mark.parametrize("serial", SERIALS)
def test_every_letter_lies_on_the_paper(serial: str) -> None:
    [page] = pages(printed(serial))
    assert min(one.left for one in page.glyphs) >= 1
    assert max(one.right for one in page.glyphs) <= A4_MM[0] - 1
    assert min(one.bottom for one in page.glyphs) >= 1
    assert max(one.top for one in page.glyphs) <= A4_MM[1] - 1


def test_it_reads_the_same_ten_years_later_whatever_the_catalogue_says() -> None:
    """Every print says when it was printed and which copy it is: nothing else may differ."""
    before = [page.text for page in pages(printed("Q-1043"))]
    assert before[0].count("copy1,printed2031-03-1009:30") == 1
    Operation.objects.filter(code="N40").update(name="Bore the post holes")
    item = Item.objects.get(key="T01")
    Item.objects.filter(pk=item.pk).update(name="a set of another name")
    revising.item_changed(item.pk)
    SpecRevision.objects.filter(spec__key="TARN").update(finish="satin oil")
    Instrument.objects.filter(body__serial="Q-1043").update(order="C-9999")
    after = [page.text for page in pages(printed("Q-1043", years=10))]
    assert [text.replace("printed2041-", "printed2031-") for text in after] == before
    assert "anothername" not in after[0]


def test_what_has_no_room_goes_on_over_the_page_and_nothing_is_lost() -> None:
    """A guitar with a long story; invented."""
    kept = board.as_built(now("Q-1043").id)
    assert kept is not None
    loop = {
        "loop": "cosmetic", "word": "swirl", "words": "", "found_at": "I10",
        "opened": "2031-03-04T10:00+00:00", "repaired": "2031-03-04T11:00+00:00",
        "repaired_by": "P-61", "closed": "2031-03-04T12:00+00:00",
    }  # fmt: skip
    loops = [loop | {"words": f"mark number {number}"} for number in range(40)]
    with mock.patch.object(board, "as_built", return_value=kept | {"reworks": loops}):
        pdf = printed("Q-1043")
    sides = pages(pdf)
    assert len(sides) == 2
    text = printed_words(pdf)
    assert all(f"marknumber{number})" in text for number in range(40))
    for number, side in enumerate(sides, 1):
        assert f"{number}/2" in side.text
        assert "copy1,printed2031-03-1009:30" in side.text
        assert kept["journal"]["link"][:16] in side.text


@pytest.mark.parametrize("damage", [{"form": 99}, {"kit": None}])
def test_a_record_that_cannot_be_read_is_refused_with_a_sentence(damage: dict[str, Any]) -> None:
    kept = board.as_built(now("Q-1043").id)
    assert kept is not None
    with mock.patch.object(board, "as_built", return_value=kept | damage):
        sheaf = press.draw("as_built", ["Q-1043"], datetime.now().astimezone())
    ((name, why),) = sheaf.refused
    assert (name, type(why), sheaf.drawn) == ("Q-1043", NotReadable, [])
    assert str(why).startswith("The record of Q-1043 cannot be read here. ")


def test_one_that_is_not_released_is_refused_with_a_sentence() -> None:
    sheaf = press.draw("as_built", ["Q-1043", "Q-1041"], datetime.now().astimezone())
    assert [it.page.name for it in sheaf.drawn] == ["Q-1043"]
    ((name, why),) = sheaf.refused
    assert (name, type(why)) == ("Q-1041", NotReleased)
    assert str(why).startswith("Q-1041 is not released yet: ")
    assert str(why).endswith("Print it then.")


@pytest.mark.parametrize("serial", SERIALS)
def test_stamped_and_laid_out_by_itself_are_one_picture(serial: str) -> None:
    at = datetime(2031, 3, 10, 9, 30, tzinfo=now(serial).body_came.tzinfo)
    stamped, plain = (
        pictures(press.proof("as_built", [serial], at, plain=plain), 144) for plain in (False, True)
    )
    assert [one.tobytes() for one in stamped] == [one.tobytes() for one in plain]


@pytest.mark.parametrize("serial", SERIALS)
def test_the_white_border_is_as_wide_as_the_form_promises(serial: str) -> None:
    (side,) = pictures(printed(serial), 300)
    box = ink(side)
    edges = (box[0], box[1], side.width - box[2], side.height - box[3])
    assert (min(edges) + 1) / 300 * 25.4 >= FORMS["as_built"].border_mm


def test_several_records_are_one_print() -> None:
    pdf = press.proof("as_built", SERIALS, datetime.now().astimezone())
    assert len(pages(pdf)) == 2
    assert press.file_name("as_built", SERIALS) == "as-built-Q-1043-and-1-more.pdf"


def test_printing_it_loads_nothing(released: dict[str, datetime]) -> None:
    loaded: list[str] = []

    def noted(_: Any, url: str, *__: Any) -> Any:
        loaded.append(url)
        raise typesetting.Refused(url)

    with mock.patch.object(typesetting.OwnFilesOnly, "fetch", noted):
        press.proof("as_built", SERIALS, released["Q-1043"] + timedelta(days=1))
    assert loaded == []


def test_each_further_record_takes_the_same_few_statements(
    django_assert_num_queries: Callable[..., Any],
) -> None:
    """The record of each; all the rest once for all, and nothing of the catalogue."""
    at = datetime.now().astimezone()
    press.draw("as_built", SERIALS, at)
    with CaptureQueriesContext(connection) as alone:
        press.draw("as_built", SERIALS[:1], at)
    with django_assert_num_queries(len(alone) + 1):
        press.draw("as_built", SERIALS, at)
