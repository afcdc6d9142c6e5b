"""The office pages keep what is open as it is, and redraw what changes around it."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from shop.catalogue import revising
from shop.catalogue.models import (
    Gauging,
    Item,
    KitLine,
    LimitChange,
    Nut,
    Operation,
    SpecRevision,
    Substitute,
    TunerSet,
    Wood,
)
from shop.people.models import Badge
from tests.catalogue.office import OFFICE, form_of, messages

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]


def opened(key: str = "TARN") -> SpecRevision:
    return SpecRevision.objects.get(spec__key=key, state="open")


@pytest.mark.parametrize(
    "table",
    [
        "station", "operation", "route", "spec", "specrevision", "hardwarekit", "item",
        "tunerset", "nut", "saddle", "pins", "tail", "strapbutton", "guard", "electronics",
        "battery", "strings", "case", "wood", "kitline", "limitchange", "loop",
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


def test_what_a_set_up_aims_at_is_put_into_a_draft_or_left_open(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    aimed = {"relief_least_mm": "0", "relief_most_mm": "0.2", "frets": "21", "slant_mm": "2.8"}
    office.post(address, form_of(office.get(address)) | aimed)
    draft.refresh_from_db()
    assert (str(draft.relief_least_mm), str(draft.relief_most_mm)) == ("0.000", "0.200")
    assert (draft.frets, str(draft.slant_mm), draft.board_mm) == (21, "2.800", None)


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"relief_mm": "0.2", "relief_least_mm": "0.21"}, "relief_least_mm"),
        ({"relief_mm": "0.2", "relief_most_mm": "0.19"}, "relief_most_mm"),
        ({"relief_mm": "0.2", "relief_least_mm": "0.2", "relief_most_mm": "0.2"}, "relief_most_mm"),
        ({"relief_mm": "0.25", "relief_least_mm": "0.25"}, "relief_least_mm"),  # usual most: 0.25
        ({"relief_mm": "0.15", "relief_most_mm": "0.15"}, "relief_most_mm"),  # usual least: 0.15
        ({"frets": "13"}, "frets"),  # the body begins at 14
        ({"frets": "31"}, "frets"),
        ({"body_joint_fret": "31"}, "body_joint_fret"),
        ({"relief_mm": "", "relief_least_mm": "0.21"}, "relief_mm"),
        ({"relief_most_mm": "much", "frets": "many"}, "frets"),
    ],
)
def test_a_relief_without_a_range_and_frets_no_board_has_are_not_saved(
    office: Client, sent: dict[str, str], field: str
) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    ends = {"relief_least_mm": "", "relief_most_mm": "", "frets": ""}
    answer = office.post(address, form_of(office.get(address)) | ends | sent)
    assert field in answer.context["adminform"].form.errors


@pytest.mark.parametrize(
    "sent",
    [
        {"relief_mm": "0.3"},
        {"relief_mm": "0.25", "relief_least_mm": "0.24"},
        {"frets": "14"},
        {"frets": "30"},
    ],
)
def test_a_relief_at_an_end_of_its_range_and_frets_up_to_the_body_are_saved(
    office: Client, sent: dict[str, str]
) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    ends = {"relief_least_mm": "", "relief_most_mm": "", "frets": ""}
    assert office.post(address, form_of(office.get(address)) | ends | sent).status_code == 302


def test_a_least_relief_over_the_most_is_not_saved(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    sent = form_of(office.get(address)) | {"relief_least_mm": "0.3", "relief_most_mm": "0.2"}
    answer = office.post(address, sent)
    assert "relief_most_mm" in answer.context["adminform"].form.errors


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


@pytest.mark.parametrize("table", ["specrevision", "nut", "operation", "route", "spec", "loop"])
def test_what_stands_on_records_is_never_deleted(office: Client, table: str) -> None:
    number = SpecRevision._meta.apps.get_model("catalogue", table)._default_manager.all()[0].pk
    assert office.post(f"{OFFICE}/{table}/{number}/delete/", {"post": "yes"}).status_code == 403


# --- what fits is said where it is changed ---


def saved(office: Client, address: str, **changed: Any) -> list[str]:
    """Open the form, change this in it, save it; what the office says then."""
    sent = form_of(office.get(address)) | changed
    return messages(office.post(address, sent, follow=True))


def test_a_kit_saved_with_machines_that_do_not_fit_says_so_with_the_next_step(
    office: Client,
) -> None:
    """Invented figures: 8.35 mm bushings in holes of 8.73 mm."""
    draft = revising.next_draft(opened())
    Substitute.objects.filter(line__kit=draft.kit).delete()
    line = list(draft.kit.lines.order_by("pk").values_list("item__key", flat=True)).index("T01")
    other = {f"lines-{line}-item": Item.objects.get(key="T03").pk}
    address = f"{OFFICE}/hardwarekit/{draft.kit.pk}/change/"
    answer = office.post(address, form_of(office.get(address)) | other, follow=True)
    said = {str(one): one.level_tag for one in answer.context["messages"]}
    (found,) = (words for words in said if ", R06: " in words)
    assert "it will fall out" in found
    assert "the lead must look at the list" in found
    assert said[found] == "error"


def test_a_revision_saved_with_a_doubt_says_it_as_a_warning(office: Client) -> None:
    draft = revising.next_draft(opened())
    address = f"{OFFICE}/specrevision/{draft.pk}/change/"
    sent = form_of(office.get(address)) | {"bushing_hole_mm": "8.69", "tolerances": ""}
    answer = office.post(address, sent, follow=True)
    said = {str(one): one.level_tag for one in answer.context["messages"]}
    assert {tag for words, tag in said.items() if ", R06: " in words} == {"warning"}


def test_a_revision_that_fits_says_nothing_but_that_it_is_saved(office: Client) -> None:
    draft = revising.next_draft(opened())
    assert len(saved(office, f"{OFFICE}/specrevision/{draft.pk}/change/")) == 1


def test_an_item_changed_so_that_an_open_kit_does_not_fit_says_which(office: Client) -> None:
    machines = TunerSet.objects.get(key="T13")
    said = saved(office, f"{OFFICE}/tunerset/{machines.pk}/change/", bushing_od_mm="8.2")
    assert any(one.startswith("FIRTH revision 1, R06: ") for one in said)


def test_an_impossible_kit_is_not_opened_in_the_office_and_says_why(office: Client) -> None:
    draft = revising.next_draft(opened())
    draft.kit.lines.filter(item__key="P01").update(item=Item.objects.get(key="P02"))
    (said,) = act_on(office, draft, "open_for_releases")
    assert said.startswith("TARN revision 2 cannot be built: R18: ")
    assert opened().number == 1


@pytest.mark.parametrize(
    ("tolerances", "says"),
    [
        ("hole_mm -0.1/0.1", "hole_mm is no length of this one"),
        ("post_mm 0.1", "write the dimension, the lower and the upper deviation"),
    ],
)
def test_a_tolerance_that_cannot_be_is_said_at_its_field(
    office: Client, tolerances: str, says: str
) -> None:
    machines = TunerSet.objects.get(key="T13")
    address = f"{OFFICE}/tunerset/{machines.pk}/change/"
    answer = office.post(address, form_of(office.get(address)) | {"tolerances": tolerances})
    (said,) = answer.context["adminform"].form.errors["tolerances"]
    assert says in said
    machines.refresh_from_db()
    assert machines.tolerances == ""


# --- measuring, woods, limits ---


def test_what_an_operation_measures_is_chosen_with_it_and_redraws(office: Client) -> None:
    operation = Operation.objects.get(code="N20")
    before = opened().version
    address = f"{OFFICE}/operation/{operation.pk}/change/"
    added = {"gaugings-0-quantity": "peghead", "gaugings-0-place": "1"}
    office.post(address, form_of(office.get(address)) | added)
    assert list(operation.gaugings.values_list("quantity", flat=True)) == ["peghead"]
    assert opened().version == before + 1


def test_an_operation_does_not_measure_the_same_twice(office: Client) -> None:
    operation = Operation.objects.get(code="N10")
    address = f"{OFFICE}/operation/{operation.pk}/change/"
    added = {"gaugings-1-quantity": "peghead", "gaugings-1-place": "2"}
    office.post(address, form_of(office.get(address)) | added)
    assert Gauging.objects.filter(operation=operation).count() == 1


def test_a_wood_changed_in_the_office_redraws_what_is_built_of_it(office: Client) -> None:
    wood = Wood.objects.get(botanical="Prunus serotina")
    before = {key: opened(key).version for key in ("FELL", "TARN")}
    saved(office, f"{OFFICE}/wood/{wood.pk}/change/", permit="on")
    after = {key: opened(key).version for key in ("FELL", "TARN")}
    assert after == before | {"FELL": before["FELL"] + 1}


def test_limits_are_looked_up_in_the_office_and_not_set_there(office: Client) -> None:
    number = opened().pk
    revising.set_limit(number, "R06.least", Decimal("0.03"), "P-01", "Soft wood", date(2031, 3, 3))
    row = LimitChange.objects.get()
    page = office.get(f"{OFFICE}/limitchange/").content.decode()
    assert "R06.least" in page
    assert "Soft wood" in page
    assert office.get(f"{OFFICE}/limitchange/add/").status_code == 403
    sent = {"name": "R06.least", "value": "0.1", "by": "P-01", "on": "2031-03-03", "why": "x"}
    assert office.post(f"{OFFICE}/limitchange/{row.pk}/change/", sent).status_code == 403
    assert office.post(f"{OFFICE}/limitchange/{row.pk}/delete/", {"post": "yes"}).status_code == 403


# --- substitutes ---


def line_of(revision: SpecRevision, key: str = "T01") -> KitLine:
    line: KitLine = revision.kit.lines.get(item__key=key)
    return line


def approval(key: str, place: int, **more: str) -> dict[str, Any]:
    told = {"item": Item.objects.get(key=key).pk, "approved_by": "P-01", "on": "2031-03-03"}
    told |= {"why": "Fits the same"} | more
    return {f"approved-{place}-{name}": value for name, value in told.items()}


def test_a_substitute_is_approved_at_its_line_on_an_open_revision_and_redraws(
    office: Client,
) -> None:
    Substitute.objects.all().delete()
    line, before = line_of(opened()), opened().version
    saved(office, f"{OFFICE}/kitline/{line.pk}/change/", **approval("T16", 0))
    (row,) = Substitute.objects.all()
    assert (row.line, row.item.key, row.words) == (line, "T16", "P-01, 2031-03-03: Fits the same")
    assert opened().version == before + 1


def test_a_substitute_that_does_not_fit_is_said_at_its_field_and_not_approved(
    office: Client,
) -> None:
    Substitute.objects.all().delete()
    line = line_of(opened())
    address = f"{OFFICE}/kitline/{line.pk}/change/"
    answer = office.post(address, form_of(office.get(address)) | approval("T03", 0))
    (said,) = answer.context["inline_admin_formsets"][0].formset.forms[0].errors["item"]
    assert "it will fall out" in said
    assert not Substitute.objects.exists()


@pytest.mark.parametrize("lacks", ["approved_by", "on", "why"])
def test_a_substitute_says_who_when_and_why(office: Client, lacks: str) -> None:
    Substitute.objects.all().delete()
    address = f"{OFFICE}/kitline/{line_of(opened()).pk}/change/"
    office.post(address, form_of(office.get(address)) | approval("T16", 0, **{lacks: ""}))
    assert not Substitute.objects.exists()


def test_only_items_of_the_lines_own_family_are_offered(office: Client) -> None:
    page = office.get(f"{OFFICE}/kitline/{line_of(opened()).pk}/change/")
    form = page.context["inline_admin_formsets"][0].formset.empty_form
    offered = set(form.fields["item"].queryset.values_list("key", flat=True))
    assert offered == set(TunerSet.objects.exclude(key="T01").values_list("key", flat=True))
    assert form["approved_by"].value() == "P-01"


def test_an_approval_on_an_open_revision_is_not_changed_or_taken_back(office: Client) -> None:
    line = line_of(opened())
    address = f"{OFFICE}/kitline/{line.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"approved-0-why": "x"})
    office.post(address, form_of(office.get(address)) | {"approved-0-DELETE": "on"})
    (row,) = line.approved.all()
    assert row.why != "x"


def test_an_approval_on_a_draft_is_taken_back(office: Client) -> None:
    line = line_of(revising.next_draft(opened()))
    address = f"{OFFICE}/kitline/{line.pk}/change/"
    office.post(address, form_of(office.get(address)) | {"approved-0-DELETE": "on"})
    assert not line.approved.exists()


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


def test_an_operator_does_not_reach_the_catalogue() -> None:
    phone = Client()
    phone.post("/sign-in/", {"badge": "P-11", "pin": "1111"})
    assert phone.get(f"{OFFICE}/nut/").status_code == 302


def test_whoever_is_a_lead_may_open_the_office_pages() -> None:
    assert list(Badge.objects.filter(is_staff=True).values_list("code", flat=True)) == ["P-01"]
