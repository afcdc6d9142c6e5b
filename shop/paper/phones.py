"""The sheet for the wall by which phones are set up, drawn as everything else on paper. It says
nothing of any instrument, so its prints are not counted."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from django.conf import settings
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop.craft.imposing import A4
from shop.paper import press
from shop.paper.choosing import status_of
from shop.paper.facts.phone_sheet import phone_sheet
from shop.paper.facts.saying import moment
from shop.paper.forms import Form
from shop.paper.plates import Plate
from shop.paper.press import Sheaf
from shop.paper.refusing import NotPrinted
from shop.paper.stamps import Stamps
from shop.people.gate import BadgeRequest, needs

KEY: Final = "phone_sheet"
FORM: Final = Form(KEY, "Phone set-up sheet", "A4, on the wall", A4, lambda one, now: {})


def sheet(now: datetime) -> bytes:
    """The sheet as a PDF. Raises ``NotPrinted``, and ``FileNotFoundError`` where the shop has no
    authority of its own."""
    setter = press.typesetter()
    said = {
        "form": FORM,
        "stamps": Stamps(plain=True),
        "printed_at": moment(now),
        "language": press.language(),
    }
    html = render_to_string(f"paper/{KEY}.html", said | phone_sheet())
    sheaf = Sheaf(FORM)
    Plate(sheaf.pdf, setter.lay_out(html, (press.PLAIN, KEY)), []).pull([])
    return press.bound(sheaf.pdf, sheaf.title)


@never_cache
@require_safe
@needs("paper.print")
def phones(request: BadgeRequest) -> HttpResponse:
    """The sheet, where the shop serves https by an authority of its own."""
    if not settings.SIDE_ADDRESS:
        raise Http404
    try:
        pdf = sheet(timezone.now())
    except NotPrinted as why:
        return render(request, "paper/phones.html", {"why": why}, status=status_of(why))
    except FileNotFoundError as why:
        raise Http404 from why
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": 'inline; filename="phone-set-up.pdf"'},
    )
