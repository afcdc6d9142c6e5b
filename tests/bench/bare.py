"""The floor under a page: one statement and a line of HTML, nothing of the shop's own work."""

from __future__ import annotations

import uuid

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.template import Context, Template
from django.urls import path
from django.utils import timezone
from django.views.decorators.csrf import csrf_exempt

from shop.floor.models import Entry, Instrument
from shop.urls import urlpatterns as of_the_shop

LINE = Template("<p>{{ it.order }} {{ it.due_on }} {{ it.seq }}</p>")

MOST = 2**31 - 1  # that the column holds: two of a few thousand keys hardly ever meet


def look(request: HttpRequest, number: int) -> HttpResponse:
    return HttpResponse(LINE.render(Context({"it": Instrument.objects.get(pk=number)})))


@csrf_exempt
def insert(request: HttpRequest, badge: int) -> HttpResponse:
    with transaction.atomic():
        Entry.objects.create(
            key=uuid.UUID(request.POST["key"]),
            fingerprint="",
            subject="bare",
            kind="bare",
            outcome="recorded",
            by_id=badge,
            at=timezone.now(),
            seq=uuid.UUID(request.POST["key"]).int % MOST,
            form=1,
        )
    return HttpResponse("<p>Done</p>")


urlpatterns = [
    path("bare/<int:number>/", look),
    path("bare/insert/<int:badge>/", insert),
    *of_the_shop,
]
