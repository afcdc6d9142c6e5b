"""The shop's addresses and one more: a view behind the gate that tells what it was sent."""

from __future__ import annotations

from django.http import HttpResponse, JsonResponse
from django.urls import path

from shop.people.gate import BadgeRequest, needs
from shop.urls import urlpatterns as of_the_shop


@needs("step.record")
def probe(request: BadgeRequest) -> HttpResponse:
    told = {
        "badge": request.user.code,
        "fields": {name: request.POST.getlist(name) for name in request.POST},
        "station": request.session.get("station", ""),
    }
    return JsonResponse(told)


urlpatterns = [path("probe/", probe), *of_the_shop]
