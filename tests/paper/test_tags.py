"""The tags that hang on body and neck."""

from __future__ import annotations

import pytest

from tests.paper.printing import ONE_OF_EACH, Printed
from tests.paper.reading import pages, squeezed

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("spec", ONE_OF_EACH)
def test_both_sides_of_the_body_tag_tell_build_finish_and_due_date(
    printed: Printed, spec: str
) -> None:
    one = printed.states[ONE_OF_EACH[spec]]
    hand = f"{one.sheet.spec.hand.value}·{one.sheet.spec.strings}strings"
    for page in pages(printed.pdfs["body_tag", one.serial]):
        assert squeezed(f"Build{hand}Finish{one.sheet.finish}Finished") in page.text
        assert f"Due{one.due_on:%Y-%m-%d}" in page.text


def test_both_sides_of_the_body_tag_tell_the_day_of_the_last_coat(printed: Printed) -> None:
    one = printed.states["Q-1043"]
    assert one.coated_on is not None
    for page in pages(printed.pdfs["body_tag", one.serial]):
        assert f"Finished{one.coated_on:%Y-%m-%d}Due" in page.text


@pytest.mark.parametrize("spec", ONE_OF_EACH)
def test_both_sides_of_the_neck_tag_tell_hand_and_peghead(printed: Printed, spec: str) -> None:
    one = printed.states[ONE_OF_EACH[spec]]
    hand = f"{one.sheet.spec.hand.value}·{one.sheet.spec.strings}strings"
    thick = f"Peghead{one.sheet.spec.peghead_mm.normalize():f}mm"
    for page in pages(printed.pdfs["neck_tag", one.serial]):
        assert squeezed(hand) + thick in page.text
        assert one.neck
        assert one.neck in page.text


@pytest.mark.parametrize("form", ["body_tag", "neck_tag"])
def test_a_tag_says_what_it_hangs_on(printed: Printed, form: str) -> None:
    """Vinyl, rubber and glue mark lacquer, cotton does not: lutherie practice."""
    for page in pages(printed.pdfs[form, "Q-1043"]):
        assert "cottoncord" in page.text


def test_front_and_back_of_a_tag_are_the_same(printed: Printed) -> None:
    for form in ("body_tag", "neck_tag"):
        front, back = pages(printed.pdfs[form, "Q-1043"])
        assert front.text == back.text
