"""The gate before every view: ``@needs("step.record")``, or any of several rights."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django_htmx.middleware import HtmxDetails

from shop.people.asking import ask_who

# The room's door to pages that keep themselves fresh; they are kept in a file of their own.
from shop.people.fresh import fresh as fresh
from shop.people.models import Badge
from shop.people.roles import RIGHTS, holds

P = ParamSpec("P")


class BadgeRequest(HttpRequest):
    """A request of somebody who is signed in."""

    user: Badge
    htmx: HtmxDetails


def may(badge: Any, right: str) -> bool:
    """Whether the badge has the right, named as ``thing.verb``."""
    return holds(badge, right)


def needs(
    *rights: str,
) -> Callable[
    [Callable[Concatenate[Any, P], HttpResponse]],
    Callable[Concatenate[HttpRequest, P], HttpResponse],
]:
    """Demand one of these rights before a view, the first of them by its words. Nobody signed
    in: the sign-in page, with what was sent kept."""
    if unknown := [right for right in rights if right not in RIGHTS]:
        raise KeyError(f"{unknown[0]!r} is not a right; roles.py lists them")

    def gate(
        view: Callable[Concatenate[Any, P], HttpResponse],
    ) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
        @wraps(view)
        def guarded(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return ask_who(request)
            if not any(may(request.user, right) for right in rights):
                words = RIGHTS[rights[0]][0].lower() + RIGHTS[rights[0]][1:]
                told = {"badge": request.user, "right": words}
                return render(request, "people/not_yours.html", told, status=403)
            return view(request, *args, **kwargs)

        guarded.rights = rights  # type: ignore[attr-defined]
        return cast("Callable[Concatenate[HttpRequest, P], HttpResponse]", guarded)

    return gate
