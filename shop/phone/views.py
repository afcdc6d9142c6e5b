"""The ways to scan that need the server: a photo of the tag."""

from __future__ import annotations

import uuid
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from shop.people.gate import needs
from shop.phone.decoding import MAX_BYTES, Unreadable, read_photo

# A tag's address has 35 characters at most; what is longer is no tag of any shop.
LONGEST = 300
NO_TAG = (
    "No tag seen in this photo. Hold the phone 15 to 25 cm from the tag, straight above it, "
    "and take it again."
)


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tag.scan")
def photo(request: HttpRequest) -> HttpResponse:
    """Read the tag in a photo and pass its text on to where a typed code goes."""
    to = _asked(request)
    # Where the text goes, a scan may be an act: its form carries the act's key.
    shown = {"to": to, "key_field": {"key": uuid.uuid4()}}
    if request.method == "GET":
        return render(request, "phone/photo.html", shown)
    try:
        text = read_photo(_sent(request))
    except Unreadable as why:
        return render(request, "phone/photo.html", shown | {"why": why}, status=422)
    if text is None:
        return render(request, "phone/photo.html", shown | {"why": NO_TAG}, status=422)
    text = text[:LONGEST]
    look_up = reverse("bench:scan")
    if to == look_up:
        # Looking up changes nothing, so it is a page to get.
        return HttpResponseRedirect(f"{look_up}?{urlencode({'code': text})}", status=303)
    # Elsewhere a scan may do something: a person sends it on.
    return render(request, "phone/photo.html", shown | {"code": text})


def _asked(request: HttpRequest) -> str:
    """Where the text of the tag goes: the page the photo was taken for, of this shop only."""
    to = request.POST.get("to") or request.GET.get("to") or ""
    safe = to.startswith("/") and url_has_allowed_host_and_scheme(to, allowed_hosts=None)
    return to if safe else reverse("bench:scan")


def _sent(request: HttpRequest) -> bytes:
    sent = request.FILES.get("photo")
    if sent is None:
        raise Unreadable("No photo came along. Take one of the tag.")
    # One byte more than allowed is enough to know that it is too big.
    return bytes(sent.read(MAX_BYTES + 1))
