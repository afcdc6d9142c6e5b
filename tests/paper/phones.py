"""A phone at the print pages, on the clock of the invented workshop."""

from __future__ import annotations

import uuid
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from django.test import Client
from django.utils import timezone

from shop.people.idle import SEEN
from shop.people.models import Badge


def signed_in(badge: str) -> Client:
    client = Client()
    client.force_login(Badge.objects.get(code=badge))
    session = client.session
    session[SEEN] = int(timezone.now().timestamp())
    session.save()
    client.cookies["sessionid"] = session.session_key or ""
    return client


def print_now(client: Client, form: str, *names: str, **more: Any) -> Any:
    """Press Print, with a key of its own unless one is given."""
    sent = {"key": str(uuid.uuid4()), "form": form, "names": "\n".join(names), **more}
    return client.post("/paper/print/", sent)


def printed_from(client: Client, link: str) -> bytes:
    """The PDF that the last look a link leads to ends in."""
    assert client.get(link).status_code == 200
    asked = dict(parse_qsl(urlsplit(link).query))
    answer = print_now(client, asked["form"], asked["serial"])
    pdf = client.get(answer["Location"])
    assert pdf["Content-Type"] == "application/pdf"
    return b"".join(pdf)
