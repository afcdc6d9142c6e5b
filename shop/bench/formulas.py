"""The pages of formulas: what each letter is, where it comes from, an example worked anew."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from shop.craft import formulas as book
from shop.craft.formula import Formula, Symbol
from shop.craft.words import THIN
from shop.people.gate import BadgeRequest, needs


@dataclass(frozen=True, slots=True)
class Worked:
    """One value of the worked example with its unit."""

    sign: str
    words: str
    value: str


@require_safe
@needs("tag.scan")
def formulas(request: BadgeRequest) -> HttpResponse:
    """All of them, by what they are of."""
    return render(request, "bench/formulas.html", {"families": tuple(book.families())})


@require_safe
@needs("tag.scan")
def formula(request: BadgeRequest, key: str) -> HttpResponse:
    """One of them."""
    found = book.find(key)
    if found is None:
        raise Http404
    *_, result = (one for one in found.symbols if not one.argument)
    shown = {
        "formula": found,
        "given": tuple(_given(found, one) for one in found.symbols if one.argument in found.given),
        "result": Worked(
            result.sign, result.words, _said(f"{found.example:.{found.places}f}", result)
        ),
    }
    return render(request, "bench/formula.html", shown)


def _given(found: Formula[Any], symbol: Symbol) -> Worked:
    value = found.given[symbol.argument]
    many = isinstance(value, (tuple, list))
    figures = "; ".join(f"{one:g}" for one in value) if many else _figure(value)
    return Worked(symbol.sign, symbol.words, _said(figures, symbol))


def _figure(value: object) -> str:
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


def _said(figures: str, symbol: Symbol) -> str:
    return f"{figures.replace('-', chr(0x2212))}{THIN}{symbol.unit}".rstrip(THIN)
