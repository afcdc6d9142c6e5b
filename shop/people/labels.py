"""What the office pages call our tables and fields, in the language in force.

Models name themselves in plain English; Django asks for these names whenever a page is drawn,
so each is put in the place of its own translation once all models are there.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Field, Model
from django.utils.choices import CallableChoiceIterator
from django.utils.translation import gettext_lazy as _


def in_every_language(models: Iterable[type[Model]]) -> None:
    """Have the labels, helps and choices of these models translated as they are drawn."""
    for model in models:
        meta: Any = model._meta
        meta.verbose_name, meta.verbose_name_plural = (
            _(str(meta.verbose_name)),
            _(str(meta.verbose_name_plural)),
        )
        for field in meta.local_fields:
            _speak(field)


def _speak(field: Field[Any, Any]) -> None:
    field.verbose_name = _(str(field.verbose_name))
    if field.help_text:
        field.help_text = _(str(field.help_text))
    # Choices that are asked for each time are asked in the language in force already.
    if field.choices and not isinstance(field.choices, CallableChoiceIterator):
        field.choices = [
            (value, _(str(words)) if words else words) for value, words in field.choices
        ]
