"""What a lead decides on a revision: limits and substitutes, each with who, when and why."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from shop.catalogue import book, revising
from shop.catalogue.models import Item, KitLine, LimitChange, SpecRevision, Substitute
from shop.catalogue.revising import NotReady
from shop.craft import fit
from shop.craft.finding import Severity
from shop.craft.hardware import SetLimit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("morning")]

DAY = date(2031, 3, 3)


def opened(key: str = "TARN") -> SpecRevision:
    return SpecRevision.objects.get(spec__key=key, state="open")


def sheet(key: str = "TARN") -> book.Sheet:
    revision = opened(key)
    return book.sheet(revision.pk, revision.version)


def limit(name: str, key: str = "TARN") -> book.LimitFacts:
    return next(one for one in book.limits_of(opened(key).pk) if one.name == name)


def set_limit(name: str, value: str | None, why: str = "Soft wood", by: str = "P-01") -> None:
    revising.set_limit(opened().pk, name, value and Decimal(value), by, why, DAY)  # type: ignore[arg-type]


# --- limits ---


def test_a_limit_set_on_an_open_revision_is_in_force_at_once_with_who_and_why() -> None:
    sheet()
    set_limit("R06.least", "0.03")
    assert dict(sheet().spec.limits) == {
        "R06.least": SetLimit(Decimal("0.03"), "P-01", DAY, "Soft wood")
    }
    assert limit("R06.least").value == Decimal("0.03")
    assert limit("R06.least").default == Decimal("0.02")


def test_a_limit_is_set_for_one_spec_alone() -> None:
    before = sheet("FELL")
    set_limit("R06.least", "0.03")
    assert sheet("FELL") is before


def test_a_limit_of_the_room_is_set_like_one_of_the_hardware() -> None:
    set_limit("R37.white", "15")
    assert limit("R37.white").value == 15


def test_the_rules_go_by_the_limit_that_was_set() -> None:
    """Invented figures: machines of 0.07 mm press; the default is common practice."""
    set_limit("R06.least", "0.08")
    ordered, substitute = revising.kit_findings(opened())
    assert (ordered.rule, ordered.severity) == ("R06", Severity.WARN)
    assert ordered.basis is not None
    assert "set by P-01 on 2031-03-03" in ordered.basis.origin
    assert substitute.words == f"T16 in the place of T01: {ordered.words}"


def test_a_limit_given_its_default_back_keeps_its_history() -> None:
    set_limit("R06.least", "0.03")
    set_limit("R06.least", None, "The trial is over")
    found = limit("R06.least")
    assert (found.value, found.changed) == (Decimal("0.02"), None)
    assert [(one.value, one.why) for one in found.changes] == [
        (None, "The trial is over"),
        (Decimal("0.03"), "Soft wood"),
    ]
    assert sheet().spec.limits == ()


@pytest.mark.parametrize(
    ("name", "value", "says"),
    [
        ("R99.least", "1", "There is no limit R99.least"),
        ("R06.least", "-0.01", "lies between 0 and 0.2"),
        ("R06.least", "0.201", "Check the decimal point"),
        ("R06.loose", "1.001", "lies between 0 and 1"),
        ("R06.least", "NaN", "NaN cannot be"),
        ("R06.least", "Infinity", "Infinity cannot be"),
        ("R06.least", "0.0201", "finer than is kept. Give 3 decimals at most"),
        ("R06.least", "0.101", "R06.least 0.101 would lie above R06.most 0.1"),
        ("R06.most", "0.019", "R06.least 0.02 would lie above R06.most 0.019"),
    ],
)
def test_a_limit_that_cannot_be_is_refused_and_nothing_is_written(
    name: str, value: str, says: str
) -> None:
    version = opened().version
    with pytest.raises(NotReady) as told:
        set_limit(name, value)
    assert says in str(told.value)
    assert not LimitChange.objects.exists()
    assert opened().version == version


@pytest.mark.parametrize("value", ["0.2", "0", "0.1"])
def test_a_limit_at_the_edge_of_what_can_be_is_set(value: str) -> None:
    set_limit("R06.most", "1")
    set_limit("R06.least", value)
    assert limit("R06.least").value == Decimal(value)


def test_a_limit_does_not_go_back_to_a_default_that_would_leave_no_room() -> None:
    set_limit("R06.least", "0.01")
    set_limit("R06.most", "0.015")
    with pytest.raises(NotReady, match=r"R06\.least 0\.02 would lie above R06\.most 0\.015"):
        set_limit("R06.least", None)


@pytest.mark.parametrize(
    ("by", "why", "says"),
    [
        ("", "Soft wood", "Say who decided it"),
        ("P-01", "", "Say why"),
        ("P-01", "  ", "Say why"),
        ("P-01", "x" * 201, "200 letters at most"),
    ],
)
def test_a_limit_is_not_set_without_a_name_and_a_reason(by: str, why: str, says: str) -> None:
    with pytest.raises(NotReady, match=says):
        set_limit("R06.least", "0.03", why, by)
    assert not LimitChange.objects.exists()


def test_no_limit_is_set_for_a_revision_that_is_not_there() -> None:
    with pytest.raises(SpecRevision.DoesNotExist):
        revising.set_limit(0, "R06.least", Decimal("0.03"), "P-01", "Soft wood", DAY)


def test_every_limit_of_every_hardware_rule_can_be_set() -> None:
    known = {one.name for one in book.limits_of(opened().pk)}
    assert set(fit.LIMITS) <= known


# --- substitutes ---


def line_of(key: str, spec: str = "TARN") -> int:
    return KitLine.objects.get(kit__revision=opened(spec), item__key=key).pk


def test_a_substitute_approved_on_an_open_revision_is_on_its_sheet_at_once() -> None:
    sheet()
    Substitute.objects.all().delete()
    revising.approve(line_of("T01"), "T16", "P-01", "The same but for its ratio", DAY)
    (approved,) = (line.approvals for line in sheet().kit if line.approvals)
    assert approved == (("T16", "P-01, 2031-03-03: The same but for its ratio"),)


def test_a_substitute_with_a_warning_is_approved_and_the_warning_is_told() -> None:
    Item.objects.filter(key="T16").update(tolerances="bushing_od_mm -0.055/0")
    Substitute.objects.all().delete()
    found = revising.approve(line_of("T01"), "T16", "P-01", "Felt tight enough", DAY)
    assert [(one.rule, one.severity) for one in found] == [("R06", Severity.WARN)]
    assert Substitute.objects.count() == 1


@pytest.mark.parametrize(
    ("line", "spec", "item", "says"),
    [
        ("T01", "TARN", "T99", "There is no item T99"),
        ("T01", "TARN", "N05", "of two families"),
        ("T01", "TARN", "T01", "in this kit already"),
        ("T01", "TARN", "T16", "approved for T01 open-gear individual set already"),
        # Invented figures: an 8.35 mm bushing in the 8.73 mm hole; limits are common practice.
        ("T01", "TARN", "T03", "R06: "),
        ("T01", "TARN", "T02", "R15: "),
        ("P01", "TARN", "P02", "R18: "),
        # A graduated set for the other hand goes into every hole.
        ("T15", "WOLD", "T14", "R03: "),
    ],
)
def test_a_substitute_that_cannot_stand_in_is_refused_and_nothing_is_written(
    line: str, spec: str, item: str, says: str
) -> None:
    before = list(Substitute.objects.values_list("pk", flat=True))
    version = opened(spec).version
    with pytest.raises(NotReady) as told:
        revising.approve(line_of(line, spec), item, "P-01", "It looks alike", DAY)
    assert says in str(told.value)
    assert list(Substitute.objects.values_list("pk", flat=True)) == before
    assert opened(spec).version == version


def test_a_substitute_out_of_use_is_refused() -> None:
    Substitute.objects.all().delete()
    Item.objects.filter(key="T16").update(obsolete=True)
    with pytest.raises(NotReady, match="out of use"):
        revising.approve(line_of("T01"), "T16", "P-01", "The same but for its ratio", DAY)


@pytest.mark.parametrize(("by", "why"), [("", "A reason"), ("P-01", " ")])
def test_a_substitute_is_not_approved_without_a_name_and_a_reason(by: str, why: str) -> None:
    Substitute.objects.all().delete()
    with pytest.raises(NotReady):
        revising.approve(line_of("T01"), "T16", by, why, DAY)
    assert not Substitute.objects.exists()


def test_no_substitute_is_approved_for_a_line_that_is_not_there() -> None:
    with pytest.raises(KitLine.DoesNotExist):
        revising.approve(0, "T16", "P-01", "The same but for its ratio", DAY)
