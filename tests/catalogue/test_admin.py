"""The office pages keep what is open as it is, and redraw what changes around it."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from shop.catalogue import revising
from shop.catalogue.models import KitLine, Nut, Operation, SpecRevision
from shop.people.models import Badge

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

OFFICE = "/office/catalogue"


@pytest.fixture
def office() -> Client:
    """A browser with the lead's badge."""
    phone = Client()
    phone.post("/sign-in/", {"badge": "P-01", "pin": "0101"})
    return phone


def opened(key: str = "TARN") -> SpecRevision:
    return SpecRevision.objects.get(spec__key=key, state="open")


def form_of(page: Any) -> dict[str, Any]:
    """The values the office's form would send if nothing were changed."""
    form = page.context["adminform"].form
    sent = {name: form[name].value() for name in form.fields}
    for part in page.context["inline_admin_formsets"]:
        formset = part.formset
        forms = [formset.management_form, *formset.forms]
        for one in forms:
            sent |= {one.add_prefix(name): one[name].value() for name in one.fields}
    return {name: "" if value is None else value for name, value in sent.items()}


def messages(answer: Any) -> list[str]:
    return [str(one) for one in answer.context["messages"]]


@pytest.mark.parametrize(
    "table",
    [
        "station", "operation", "route", "spec", "specrevision", "hardwarekit", "item",
        "tunerset", "nut", "saddle", "pins", "tail", "strapbutton", "guard", "electronics",
        "battery", "strings", "case",
    ],
)  # fmt: skip
def test_a_lead_sees_every_table_of_the_catalogue(office: Client, table: str) -> None:
    assert office.get(f"{OFFICE}/{table}/").status_code == 200


def test_an_open_revision_cannot_be_changed(office: Client) -> None:
    revision = opened()
    sent = {"spec": revision.spec_id, "number": 1, "peghead_mm": "20"}
    answer = office.post(f"{OFFICE}/specrevision/{revision.pk}/change/", sent)
    assert answer.status_code == 403
    revision.refresh_from_db()
    assert str(revision.peghead_mm) == "14.500"


def test_a_draft_can_be_changed(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"peghead_mm": "14.8"})
    draft.refresh_from_db()
    assert str(draft.peghead_mm) == "14.800"


def test_a_draft_with_a_length_of_zero_is_not_saved(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    answer = office.post(address, form_of(office.get(address)) | {"peghead_mm": "0"})
    assert "peghead_mm" in answer.context["adminform"].form.errors


def test_the_kit_of_an_open_revision_cannot_be_changed(office: Client) -> None:
    kit = opened().kit
    line = kit.lines.order_by("pk")[0]
    sent = {
        "revision": kit.revision_id, "lines-TOTAL_FORMS": 1, "lines-INITIAL_FORMS": 1,
        "lines-0-id": line.pk, "lines-0-kit": kit.pk, "lines-0-item": line.item_id,
        "lines-0-used_at": line.used_at_id, "lines-0-quantity": 5,
    }  # fmt: skip
    assert office.post(f"{OFFICE}/hardwarekit/{kit.pk}/change/", sent).status_code == 403
    assert KitLine.objects.get(pk=line.pk).quantity == 1


def test_the_kit_of_a_draft_can_be_changed_and_redraws_it(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/hardwarekit/{draft.kit.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"lines-0-quantity": 2})
    assert draft.kit.lines.order_by("pk")[0].quantity == 2
    version = draft.version
    draft.refresh_from_db()
    assert draft.version > version


@pytest.mark.parametrize("table", ["specrevision", "nut", "operation", "route", "spec"])
def test_what_stands_on_records_is_never_deleted(office: Client, table: str) -> None:
    number = SpecRevision._meta.apps.get_model("catalogue", table)._default_manager.all()[0].pk
    assert office.post(f"{OFFICE}/{table}/{number}/delete/", {"post": "yes"}).status_code == 403


def act_on(office: Client, revision: SpecRevision, deed: str) -> list[str]:
    sent = {"action": deed, "_selected_action": [revision.pk]}
    return messages(office.post(f"{OFFICE}/specrevision/", sent, follow=True))


def test_a_lead_opens_a_draft_for_releases(office: Client) -> None:
    draft = revising.next_draft(opened())
    assert act_on(office, draft, "open_for_releases") == ["TARN revision 2 is open for releases."]
    assert opened().number == 2


def test_a_lead_who_opens_a_draft_without_a_kit_is_told_why_not(office: Client) -> None:
    draft = revising.next_draft(opened())
    draft.kit.lines.all().delete()
    assert act_on(office, draft, "open_for_releases") == [
        "TARN revision 2 has no kit. List its items first."
    ]
    assert opened().number == 1


def test_a_lead_copies_an_open_revision_as_a_draft(office: Client) -> None:
    act_on(office, opened(), "copy_as_draft")
    assert SpecRevision.objects.get(spec__key="TARN", state="draft").number == 2


def test_an_item_changed_in_the_office_is_redrawn(office: Client) -> None:
    nut = Nut.objects.get(key="N03")
    before = opened("FIRTH").version
    address = f"{OFFICE}/nut/{nut.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"width_mm": "47.7"})
    nut.refresh_from_db()
    assert str(nut.width_mm) == "47.700"
    assert opened("FIRTH").version == before + 1


def test_an_operation_changed_in_the_office_is_redrawn(office: Client) -> None:
    operation = Operation.objects.get(code="N40")
    before = opened().version
    address = f"{OFFICE}/operation/{operation.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"limits": "As the spec."})
    assert opened().version == before + 1


def test_a_route_saved_with_a_circle_says_so_at_once(office: Client) -> None:
    route = opened().route
    first, second = (Operation.objects.get(code=code) for code in ("N10", "N20"))
    address = f"{OFFICE}/route/{route.pk}/change/"
    sent = form_of(office.get(address))
    number = int(sent["precedences-TOTAL_FORMS"])
    added = {"route": route.pk, "before": second.pk, "after": first.pk, "wait": "00:00:00"}
    sent["precedences-TOTAL_FORMS"] = number + 1
    sent |= {f"precedences-{number}-{name}": value for name, value in added.items()}
    answer = office.post(address, sent, follow=True)
    assert any("is a circle" in one for one in messages(answer))


def test_an_operator_does_not_reach_the_catalogue() -> None:
    phone = Client()
    phone.post("/sign-in/", {"badge": "P-11", "pin": "1111"})
    assert phone.get(f"{OFFICE}/nut/").status_code == 302


def test_whoever_is_a_lead_may_open_the_office_pages() -> None:
    assert list(Badge.objects.filter(is_staff=True).values_list("code", flat=True)) == ["P-01"]
