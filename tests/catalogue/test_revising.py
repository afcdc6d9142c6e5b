"""Changing what should be: by a new revision, never by changing an open one."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from shop.catalogue import book, revising
from shop.catalogue.models import (
    Gauging,
    Item,
    Nut,
    Operation,
    Precedence,
    Route,
    SpecRevision,
    Station,
    Substitute,
    TunerSet,
    Wood,
)
from shop.catalogue.revising import NotReady
from shop.craft.finding import Severity
from shop.floor import door
from tests.catalogue import figures
from tests.catalogue.figures import rows
from tests.floor.morning import act, now

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def opened(key: str = "TARN") -> SpecRevision:
    return SpecRevision.objects.get(spec__key=key, state="open")


def versions() -> dict[str, int]:
    return dict(SpecRevision.objects.values_list("spec__key", "version"))


def raised(before: dict[str, int]) -> set[str]:
    """The specs whose version rose since."""
    return {key for key, version in versions().items() if version > before[key]}


def sheet_of(revision: SpecRevision) -> book.Sheet:
    revision.refresh_from_db()
    return book.sheet(revision.pk, revision.version)


# --- opening ---


def test_a_revision_opened_closes_the_one_before_it() -> None:
    before = opened()
    after = revising.next_draft(before)
    revising.open_revision(after)
    before.refresh_from_db()
    after.refresh_from_db()
    assert (before.state, after.state) == ("closed", "open")


def test_a_copied_revision_aims_at_the_same_set_up() -> None:
    """Invented figures."""
    aimed: dict[str, Any] = {
        "relief_least_mm": Decimal("0.1"), "relief_most_mm": Decimal("0.2"), "frets": 21,
        "fret_height_mm": Decimal("1.2"), "fall_off_mm": Decimal(0),
        "compensation_mm": Decimal("3.5"), "slant_mm": Decimal("2.8"),
        "bridge_height_mm": Decimal(9), "board_mm": Decimal(6),
        "top_wood": "Picea abies", "back_wood": "Acer saccharum", "board_wood": "Diospyros ebenum",
    }  # fmt: skip
    draft = revising.next_draft(opened())
    SpecRevision.objects.filter(pk=draft.pk).update(**aimed)
    revising.open_revision(SpecRevision.objects.get(pk=draft.pk))
    copy = SpecRevision.objects.get(pk=revising.next_draft(opened()).pk)
    facts = copy.facts()
    assert {name: getattr(copy, name) for name in aimed} == aimed
    assert {name: getattr(facts, name) for name in aimed} == aimed


def test_a_revision_opened_leaves_the_other_specs_open() -> None:
    revising.open_revision(revising.next_draft(opened()))
    assert [row["spec__key"] for row in book.open_revisions()] == sorted(versions())


@pytest.mark.parametrize("state", ["open", "closed"])
def test_only_a_draft_is_opened(state: str) -> None:
    revision = opened()
    revision.state = state
    with pytest.raises(NotReady, match=f"TARN revision 1 is {state}. Only a draft can be opened"):
        revising.open_revision(revision)


@pytest.mark.parametrize("empty", ["without a kit", "with an empty one"])
def test_a_draft_without_a_kit_is_not_opened_and_says_so(empty: str) -> None:
    draft = revising.next_draft(opened())
    draft.kit.lines.all().delete()
    if empty == "without a kit":
        draft.kit.delete()
    with pytest.raises(NotReady, match=r"TARN revision 2 has no kit\. List its items first\."):
        revising.open_revision(draft)
    assert opened().number == 1


def test_a_draft_whose_route_goes_in_a_circle_is_not_opened_and_says_where() -> None:
    draft = revising.next_draft(opened())
    first, second = (Operation.objects.get(code=code) for code in ("N10", "N20"))
    Precedence.objects.create(route=draft.route, before=second, after=first)
    with pytest.raises(NotReady, match="is a circle") as told:
        revising.open_revision(draft)
    assert "N10" in str(told.value)
    assert "N20" in str(told.value)
    assert opened().number == 1


def test_a_draft_with_an_item_used_at_an_operation_off_its_route_is_not_opened() -> None:
    draft = revising.next_draft(opened())
    off = Operation.objects.exclude(pk__in=draft.route.stops.values("operation"))[0]
    draft.kit.lines.filter(item__key="N01").update(used_at=off)
    with pytest.raises(NotReady, match=f"does not have: N01 at {off.code}"):
        revising.open_revision(draft)


def put_in(revision: SpecRevision, out: str, into: str) -> None:
    """Let the kit ask for another item in the place of one."""
    revision.kit.lines.filter(item__key=out).update(item=Item.objects.get(key=into))


def test_a_draft_with_machines_that_fall_out_of_their_holes_is_not_opened_and_says_why() -> None:
    """Invented figures: 8.35 mm in 8.73 to 8.745 mm; the limits are common practice."""
    draft = revising.next_draft(opened())
    put_in(draft, "T01", "T03")
    with pytest.raises(NotReady, match=r"TARN revision 2 cannot be built: R06: ") as told:
        revising.open_revision(draft)
    assert "it will fall out" in str(told.value)
    assert opened().number == 1


def test_a_draft_with_electronics_and_no_battery_is_not_opened() -> None:
    """The list as a whole is looked at, not each line alone."""
    draft = revising.next_draft(opened("HOLM"))
    draft.kit.lines.filter(item__key="V01").delete()
    with pytest.raises(NotReady, match="R21: Battery missing"):
        revising.open_revision(draft)


def test_a_draft_with_a_warning_alone_is_opened() -> None:
    draft = revising.next_draft(opened())
    SpecRevision.objects.filter(pk=draft.pk).update(bushing_hole_mm="8.69", tolerances="")
    draft.refresh_from_db()
    assert {one.severity for one in revising.kit_findings(draft)} == {Severity.WARN}
    revising.open_revision(draft)
    assert opened().number == 2


def test_a_draft_whose_approved_substitute_does_not_fit_is_not_opened() -> None:
    draft = revising.next_draft(opened())
    line = draft.kit.lines.get(item__key="T01")
    Substitute.objects.create(
        line=line,
        item=Item.objects.get(key="T03"),
        approved_by="P-01",
        on=date(2031, 3, 3),
        why="They look alike",
    )
    with pytest.raises(NotReady, match="cannot be built: R06: "):
        revising.open_revision(draft)


def test_a_draft_that_measures_what_nobody_knows_how_to_is_not_opened() -> None:
    draft = revising.next_draft(opened())
    Gauging.objects.filter(operation__code="N10").update(quantity="girth")
    with pytest.raises(NotReady, match="N10 measures girth, which is not known"):
        revising.open_revision(draft)


def test_a_draft_with_marked_machines_and_nowhere_to_look_at_their_posts_is_not_opened() -> None:
    draft = revising.next_draft(opened("WOLD"))
    Operation.objects.update(positions=False)
    with pytest.raises(NotReady, match=r"T15 .* each machine has its own post.* N60"):
        revising.open_revision(draft)


def test_plain_machines_need_no_look_at_their_posts_to_be_opened() -> None:
    draft = revising.next_draft(opened("TARN"))
    Operation.objects.update(positions=False)
    revising.open_revision(draft)
    assert opened().number == 2


@pytest.mark.parametrize("key", sorted(row["key"] for row in rows(figures.SIZES)))
def test_nothing_stands_against_a_kit_of_the_demo(key: str) -> None:
    """Invented figures; the limits are common practice."""
    assert revising.kit_findings(opened(key)) == ()


# --- drafts ---


def test_a_draft_copies_the_kit_with_its_substitutes() -> None:
    draft = revising.next_draft(opened())
    assert sheet_of(draft).kit == sheet_of(opened()).kit
    (approved,) = (line.approvals for line in sheet_of(draft).kit if line.approvals)
    assert [key for key, _ in approved] == ["T16"]


def test_a_draft_copies_the_woods() -> None:
    draft = revising.next_draft(opened())
    assert sheet_of(draft).spec.woods == sheet_of(opened()).spec.woods != ()


def test_a_draft_copies_the_limits_in_force_with_who_set_them_and_why() -> None:
    number, day = opened().pk, date(2031, 2, 20)
    revising.set_limit(number, "R06.least", Decimal("0.03"), "P-01", "Soft wood", day)
    revising.set_limit(number, "R06.most", Decimal("0.09"), "P-01", "For a trial", day)
    revising.set_limit(number, "R06.most", None, "P-01", "The trial is over", day)
    draft = revising.next_draft(opened())
    assert sheet_of(draft).spec.limits == sheet_of(opened()).spec.limits
    assert [name for name, _ in sheet_of(draft).spec.limits] == ["R06.least"]


def test_a_change_to_a_draft_leaves_the_open_revision_as_it_is() -> None:
    before = sheet_of(opened())
    draft = revising.next_draft(opened())
    SpecRevision.objects.filter(pk=draft.pk).update(peghead_mm="15.2")
    draft.kit.lines.all().delete()
    book.sheet.cache_clear()
    assert sheet_of(opened()) == before


def test_a_spec_with_a_draft_gets_no_second_one() -> None:
    revising.next_draft(opened())
    with pytest.raises(NotReady, match=r"TARN revision 2 is a draft already\. Change that one\."):
        revising.next_draft(opened())


# --- instruments ---


def test_an_instrument_keeps_the_revision_it_was_released_with() -> None:
    draft = revising.next_draft(opened())
    SpecRevision.objects.filter(pk=draft.pk).update(peghead_mm="15.2")
    draft.refresh_from_db()
    revising.open_revision(draft)
    spec = now("Q-1043").sheet.spec
    assert (spec.revision, spec.peghead_mm) == (1, Decimal("14.5"))


def test_an_instrument_released_after_a_change_gets_the_new_revision() -> None:
    revising.open_revision(revising.next_draft(opened("FELL")))
    day = date(2031, 3, 20)
    released = door.record(
        act("P-01", ""), door.Released("Q-1067", "K-2103", "FELL", due_on=day, release_on=day)
    )
    assert released.done
    assert now("Q-1067").sheet.spec.revision == 2


# --- redrawing ---


def test_a_changed_item_redraws_the_revisions_whose_kit_names_it_and_no_other() -> None:
    before = versions()
    revising.item_changed(Item.objects.get(key="N05").pk)
    assert raised(before) == {"SKERRY", "FELL"}


def test_a_changed_item_is_seen_on_the_sheet_at_once() -> None:
    sheet_of(opened())
    nut = Nut.objects.get(key="N01")
    nut.width_mm = Decimal("44.6")
    nut.save()
    revising.item_changed(nut.pk)
    found = next(line.article for line in sheet_of(opened()).kit if line.article.key == "N01")
    assert found == nut.facts()


def test_a_changed_substitute_redraws_the_revisions_it_may_go_on() -> None:
    substitute = TunerSet.objects.get(key="T16")
    before = versions()
    revising.item_changed(substitute.pk)
    assert raised(before) == {"TARN"}


def test_a_changed_operation_redraws_the_revisions_whose_route_has_it() -> None:
    before = versions()
    revising.operation_changed(Operation.objects.get(code="U20").pk)
    assert raised(before) == {"HOLM", "WOLD", "SKERRY"}


def test_a_changed_station_redraws_the_revisions_that_come_by() -> None:
    before = versions()
    revising.station_changed(Station.objects.get(code="E").pk)
    assert raised(before) == {"HOLM", "WOLD", "SKERRY"}


def test_a_changed_wood_redraws_the_revisions_built_of_it() -> None:
    before = versions()
    revising.wood_changed(Wood.objects.get(botanical="Prunus serotina").pk)
    assert raised(before) == {"FELL"}


def test_a_changed_route_redraws_its_own_revisions() -> None:
    before = versions()
    revising.route_changed(Route.objects.get(revisions=opened("NESS")).pk)
    assert raised(before) == {"NESS"}


def test_a_sheet_is_drawn_once_for_each_version() -> None:
    revision = opened()
    first = book.sheet(revision.pk, revision.version)
    assert book.sheet(revision.pk, revision.version) is first
