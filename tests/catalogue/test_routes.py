"""A route stays as it is for the guitars built by it; a change is a copy, whole or refused."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from shop.catalogue import book, revising
from shop.catalogue.models import Operation, Precedence, Route, RouteStop, SpecRevision
from shop.catalogue.revising import NotReady
from tests.catalogue.office import OFFICE, form_of, messages

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

BOLTED = "Steel, bolted, guard"


def opened(key: str = "TARN") -> SpecRevision:
    return SpecRevision.objects.get(spec__key=key, state="open")


def sheet_of(revision: SpecRevision) -> book.Sheet:
    revision.refresh_from_db()
    return book.sheet(revision.pk, revision.version)


def drawn(route: Route) -> tuple[Any, ...]:
    """The route's stops and precedences, whatever its name."""
    found = book.route_of("", route.pk, book.stops_of(route.pk))
    return found.operations, found.precedences


def own_route() -> Route:
    """A route that only a draft of TARN has, so that it may be changed."""
    route: Route = revising.next_draft(opened(), own_route=True).route
    return route


# --- kept ---


@pytest.mark.parametrize("state", ["open", "closed"])
def test_a_route_that_guitars_are_built_by_is_shown_and_not_changed(
    office: Client, state: str
) -> None:
    route = opened("NESS").route
    SpecRevision.objects.filter(spec__key="NESS").update(state=state)
    address = f"{OFFICE}/route/{route.pk}/change/"
    page = office.get(address).content.decode()
    assert "Guitars of NESS revision 1 are built by this route, so it stays as it is." in page
    assert "Copy to change it" in page
    assert 'name="_save"' not in page
    assert office.post(address, {"name": "Another"}).status_code == 403
    route.refresh_from_db()
    assert route.name == "Steel, glued, slotted head"


def test_a_route_of_drafts_alone_is_changed_and_redraws_them(office: Client) -> None:
    route = own_route()
    before = sheet_of(route.revisions.get())
    address = f"{OFFICE}/route/{route.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"name": "Steel, bolted, slow"})
    after = sheet_of(route.revisions.get())
    assert (after.version, after.route.name) == (before.version + 1, "Steel, bolted, slow")


def test_a_wait_of_a_drafts_own_route_is_changed_and_the_open_revision_keeps_its_own(
    office: Client,
) -> None:
    route, before = own_route(), sheet_of(opened())
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    (number,) = (
        name.split("-")[1]
        for name, value in sent.items()
        if name.endswith("-clock") and value == "bridge clamp"
    )
    office.post(address, sent | {f"precedences-{number}-wait": "8:00:00"})
    waits = {one.clock: one.wait for one in sheet_of(route.revisions.get()).route.precedences}
    assert waits["bridge clamp"] == timedelta(hours=8)
    assert sheet_of(opened()) == before


def test_a_route_is_shown_in_no_more_statements_for_its_many_rows(
    office: Client, django_assert_max_num_queries: Any
) -> None:
    """One for each choice in each of 30 stops and 43 precedences would be 116."""
    route = own_route()
    with django_assert_max_num_queries(30):
        office.get(f"{OFFICE}/route/{route.pk}/change/")


# --- copied ---


def test_a_route_is_copied_in_the_office_under_the_next_free_name(office: Client) -> None:
    route = opened().route
    sent = {"action": "copy_to_change", "_selected_action": [route.pk]}
    said = messages(office.post(f"{OFFICE}/route/", sent, follow=True))
    assert said == [f"{BOLTED}, 2 is a copy of {BOLTED}. Change it, then choose it in a draft."]
    copy = Route.objects.get(name=f"{BOLTED}, 2")
    assert drawn(copy) == drawn(route)
    assert copy.precedences.count() == route.precedences.count() > 0


def test_a_copy_of_a_copy_counts_on_and_a_taken_number_is_passed_over() -> None:
    route = opened().route
    second = revising.copy_route(route)
    assert revising.copy_route(second).name == f"{BOLTED}, 3"
    assert revising.copy_route(route).name == f"{BOLTED}, 4"


def test_a_copy_of_a_route_with_the_longest_of_names_has_room_for_its_number() -> None:
    route = Route.objects.create(name="n" * 60)
    assert revising.copy_route(route).name == "n" * 57 + ", 2"


def test_a_draft_has_the_route_of_its_revision_unless_one_of_its_own_is_asked_for() -> None:
    assert revising.next_draft(opened()).route == opened().route
    own = revising.next_draft(opened("NESS"), own_route=True).route
    assert own != opened("NESS").route
    assert drawn(own) == drawn(opened("NESS").route)


def test_a_lead_copies_a_revision_with_a_route_of_its_own(office: Client) -> None:
    sent = {"action": "copy_with_route", "_selected_action": [opened().pk]}
    said = messages(office.post(f"{OFFICE}/specrevision/", sent, follow=True))
    assert said == ["TARN revision 1 is copied as a draft with its own route."]
    assert SpecRevision.objects.get(spec__key="TARN", state="draft").route.name == f"{BOLTED}, 2"


def test_a_spec_with_a_draft_gets_no_second_one_and_no_route_for_it() -> None:
    revising.next_draft(opened())
    with pytest.raises(NotReady, match="is a draft already"):
        revising.next_draft(opened(), own_route=True)
    assert not Route.objects.filter(name=f"{BOLTED}, 2").exists()


def test_a_guitar_keeps_its_route_when_its_spec_is_opened_with_another() -> None:
    draft = revising.next_draft(opened(), own_route=True)
    Precedence.objects.filter(route=draft.route, clock="settle").update(wait=timedelta(hours=2))
    before = sheet_of(opened())
    old = opened().pk
    revising.open_revision(draft)
    assert opened().route == draft.route
    kept = SpecRevision.objects.get(pk=old)
    assert book.sheet(kept.pk, kept.version).route == before.route


# --- whole ---


def with_row(sent: dict[str, Any], table: str, **row: Any) -> dict[str, Any]:
    """The form with one more row in one of its tables."""
    number = int(sent[f"{table}-TOTAL_FORMS"])
    added = {f"{table}-{number}-{name}": value for name, value in row.items()}
    return sent | added | {f"{table}-TOTAL_FORMS": number + 1}


def at(code: str) -> int:
    number: int = Operation.objects.get(code=code).pk
    return number


def refused(answer: Any) -> list[str]:
    """What the office says against the route as a whole."""
    assert answer.status_code == 200
    *_, precedences = answer.context["inline_admin_formsets"]
    return list(precedences.formset.non_form_errors())


def test_a_route_with_a_circle_is_refused_and_nothing_of_it_is_saved(office: Client) -> None:
    route = own_route()
    before = drawn(route)
    address = f"{OFFICE}/route/{route.pk}/change/"
    circle = with_row(
        form_of(office.get(address)),
        "precedences",
        route=route.pk,
        before=at("N20"),
        after=at("N10"),
        wait="00:00:00",
    )
    said = refused(office.post(address, circle | {"name": "Round and round"}))
    assert any("N10" in one and "is a circle" in one for one in said)
    route.refresh_from_db()
    assert route.name == f"{BOLTED}, 2"
    assert drawn(route) == before


def test_a_route_with_an_operation_tied_to_nothing_is_refused_and_says_which(
    office: Client,
) -> None:
    route = own_route()
    address = f"{OFFICE}/route/{route.pk}/change/"
    orphan = with_row(
        form_of(office.get(address)), "stops", route=route.pk, operation=at("U20"), place=99
    )
    said = refused(office.post(address, orphan))
    assert any(one.startswith("U20 is tied to no other operation") for one in said)
    assert not RouteStop.objects.filter(route=route, operation__code="U20").exists()


def test_a_precedence_left_behind_by_its_operation_is_refused_and_says_which(
    office: Client,
) -> None:
    """The stop is taken off in the form, its precedences are not."""
    route = own_route()
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    (number,) = (
        name.split("-")[1]
        for name, value in sent.items()
        if name.startswith("stops-") and name.endswith("-operation") and value == at("A10")
    )
    said = refused(office.post(address, sent | {f"stops-{number}-DELETE": "on"}))
    assert any(one.startswith("Q10 before A10: A10 is not on the route.") for one in said)
    assert RouteStop.objects.filter(route=route, operation__code="A10").exists()


def test_an_operation_is_taken_off_a_route_with_its_precedences(office: Client) -> None:
    """The other half: what is whole again without it is saved."""
    route = own_route()
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    off = {
        f"{name.rsplit('-', 1)[0]}-DELETE": "on"
        for name, value in sent.items()
        if name.rsplit("-", 1)[-1] in {"operation", "before", "after"} and value == at("A10")
    }
    bridged = with_row(
        sent | off,
        "precedences",
        route=route.pk,
        before=at("Q10"),
        after=at("A20"),
        wait="00:00:00",
    )
    assert office.post(address, bridged).status_code == 302
    codes = {one.code for one in drawn(route)[0]}
    assert "A10" not in codes
    assert "A20" in codes


def test_a_route_with_no_operation_is_not_begun(office: Client) -> None:
    address = f"{OFFICE}/route/add/"
    said = refused(office.post(address, form_of(office.get(address)) | {"name": "By boat"}))
    assert any("has no operation: add at least one" in one for one in said)
    assert not Route.objects.filter(name="By boat").exists()


def test_a_small_route_is_begun_in_one_go(office: Client) -> None:
    address = f"{OFFICE}/route/add/"
    sent = form_of(office.get(address)) | {"name": "Paint only"}
    sent = with_row(sent, "stops", operation=at("N10"), place=1)
    sent = with_row(sent, "stops", operation=at("Q10"), place=2)
    sent = with_row(sent, "precedences", before=at("N10"), after=at("Q10"), wait="0:30:00")
    assert office.post(address, sent).status_code == 302
    operations, (step,) = drawn(Route.objects.get(name="Paint only"))
    assert [one.code for one in operations] == ["N10", "Q10"]
    assert (step.before, step.after, step.wait) == ("N10", "Q10", timedelta(minutes=30))


# --- the hold ---


def hold_row(sent: dict[str, Any]) -> str:
    (found,) = (
        name.removesuffix("clock")
        for name, value in sent.items()
        if name.endswith("-clock") and value == "hold"
    )
    return found


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("wait", "95:59:59", "The hold is 96 h at least. Give 96:00:00 or more."),
        ("noted", "on", "The hold keeps the next look back. Take noted off."),
    ],
)
def test_a_hold_that_does_not_hold_is_refused_at_its_row(
    office: Client, field: str, value: str, says: str
) -> None:
    """96 hours at least: common practice, no source."""
    route = own_route()
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    answer = office.post(address, sent | {f"{hold_row(sent)}{field}": value})
    *_, precedences = answer.context["inline_admin_formsets"]
    errors = [words for one in precedences.formset.errors for words in one.get("__all__", ())]
    assert errors == [says]
    assert route.precedences.get(clock="hold").wait == timedelta(hours=96)


def test_two_holds_named_at_once_are_refused(office: Client) -> None:
    route = own_route()
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    sent |= {f"{hold_row(sent)}clock": ""}
    office.post(address, sent)
    named = {
        f"precedences-{number}-{name}": value
        for number in (0, 1)
        for name, value in (("clock", "hold"), ("wait", "96:00:00"), ("noted", ""))
    }
    said = refused(office.post(address, form_of(office.get(address)) | named))
    assert any(one.startswith("The hold stands 2 times: ") for one in said)


def test_a_draft_whose_route_lets_it_out_without_a_hold_is_not_opened_and_says_so() -> None:
    draft = revising.next_draft(opened(), own_route=True)
    draft.route.precedences.filter(clock="hold").update(clock="")
    with pytest.raises(NotReady) as told:
        revising.open_revision(draft)
    assert str(told.value) == (
        f"Route {BOLTED}, 2 has no hold of at least 96 h. Name the wait in the case hold."
    )
    assert opened().number == 1


def test_a_route_that_releases_nothing_needs_no_hold_to_be_opened() -> None:
    Operation.objects.update(freezes=False)
    draft = revising.next_draft(opened(), own_route=True)
    draft.route.precedences.filter(clock="hold").update(clock="")
    revising.open_revision(draft)
    assert opened().number == 2


def hold_of(sheet: book.Sheet) -> timedelta:
    (found,) = (one.wait for one in sheet.route.precedences if one.clock == "hold")
    return found


@pytest.mark.parametrize(
    ("spec_h", "route_h", "hours"), [(96, 96, 96), (120, 96, 120), (96, 144, 144), (120, 100, 120)]
)
def test_the_longer_hold_of_spec_and_route_counts(spec_h: int, route_h: int, hours: int) -> None:
    draft = revising.next_draft(opened(), own_route=True)
    wait = timedelta(hours=route_h)
    draft.route.precedences.filter(clock="hold").update(wait=wait)
    SpecRevision.objects.filter(pk=draft.pk).update(hold_h=spec_h)
    book.sheet.cache_clear()
    sheet = sheet_of(draft)
    assert sheet.hold == hold_of(sheet) == timedelta(hours=hours)


def test_a_route_without_a_hold_still_says_how_long_its_spec_asks_for() -> None:
    draft = revising.next_draft(opened(), own_route=True)
    draft.route.precedences.filter(clock="hold").update(clock="")
    SpecRevision.objects.filter(pk=draft.pk).update(hold_h=120)
    assert sheet_of(draft).hold == timedelta(hours=120)


@pytest.mark.parametrize("hours", ["95", "0"])
def test_a_hold_below_96_hours_is_said_at_its_field_and_not_saved(
    office: Client, hours: str
) -> None:
    """Common practice, no source."""
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    answer = office.post(address, form_of(office.get(address)) | {"hold_h": hours})
    said = answer.context["adminform"].form.errors["hold_h"]
    assert "The hold is 96 h at least. Give 96 or more." in said
    draft.refresh_from_db()
    assert draft.hold_h == 96


def test_a_longer_hold_is_set_with_the_set_up_and_is_on_the_sheet(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"hold_h": "120"})
    assert hold_of(sheet_of(draft)) == timedelta(hours=120)
    assert hold_of(sheet_of(opened())) == timedelta(hours=96)
