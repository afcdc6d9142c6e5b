"""The office pages as a lead's browser meets them."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

OFFICE = "/office/catalogue"


@pytest.fixture
def office() -> Client:
    """A browser with the lead's badge."""
    phone = Client()
    phone.post("/sign-in/", {"badge": "P-01", "pin": "0101"})
    return phone


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
