"""Waves: trays chosen for one go past the bins, and how far their walks are."""

from __future__ import annotations

from typing import Final

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from shop.craft.gauging import whole
from shop.kitting.days import day_after
from shop.kitting.trays import left_words, tray_list, waiting
from shop.people.gate import BadgeRequest, needs
from shop.stock import ledger, shelf

CART: Final = 12  # trays one cart takes: common practice, no source


@never_cache
@require_http_methods(["GET", "POST"])
@needs("tray.pick")
def waves(request: BadgeRequest) -> HttpResponse:
    """Choose the trays of a wave; the waves that are under way."""
    now = timezone.localtime()
    day = day_after(now.date())
    if request.method == "POST":
        return _made(request)
    free = waiting(tray_list(day))
    shown = {
        "day": day,
        "left": left_words(day, now),
        "trays": free,
        "proposed": {row["id"] for row in free[:CART]},
        "cart": CART,
        "waves": [one for one in shelf.waves(day) if not one.closed],
    }
    return render(request, "kitting/waves.html", shown)


def _made(request: BadgeRequest) -> HttpResponse:
    """One wave of the trays chosen, or two of them halved in the order of the list."""
    told = [whole(one) for one in request.POST.getlist("tray")]
    chosen = [one for one in told if one is not None]
    half = (len(chosen) + 1) // 2
    two = request.POST.get("waves") == "2" and len(chosen) > 1
    parts = [chosen[:half], chosen[half:]] if two else [chosen]
    now = timezone.localtime()
    try:
        made = ledger.make_waves(day_after(now.date()), parts, request.user.pk, now)
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
        return redirect("kitting:waves")
    return redirect("kitting:waves") if two else redirect("kitting:wave", made[0])


@never_cache
@require_safe
@needs("tray.pick")
def wave(request: BadgeRequest, wave_id: int) -> HttpResponse:
    """One wave: its walks, who has each and how far it is, and its trays."""
    row = shelf.wave(wave_id)
    if row is None:
        raise Http404
    day = day_after(timezone.localdate())
    jumping = [one for one in waiting(tray_list(day)) if one["urgent"]]
    shown = {"wave": row, "left": left_words(row.day, timezone.localtime()), "jumping": jumping}
    return render(request, "kitting/wave.html", shown)


@require_POST
@needs("tray.pick")
def add(request: BadgeRequest, wave_id: int) -> HttpResponse:
    """An urgent tray jumps into this wave."""
    tray = whole(request.POST.get("tray", "")) or 0
    try:
        ledger.add_to_wave(wave_id, tray, request.user.pk, timezone.now())
    except ledger.OutOfStep as why:
        messages.error(request, str(why))
    return redirect("kitting:wave", wave_id)
