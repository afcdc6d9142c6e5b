"""The journal: rows in chains, added and never changed."""

from __future__ import annotations

from typing import Any, ClassVar, NoReturn

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.floor.models.instruments import Instrument


class Loose(models.Model):
    """The chain of the journal rows that speak of no instrument: one row, its last link."""

    seq = models.PositiveIntegerField(default=0)
    link = models.CharField(max_length=64, blank=True)

    class Meta:
        verbose_name_plural = "loose"

    def __str__(self) -> str:
        return f"{self.seq} loose rows"


class Written(models.QuerySet["Entry"]):
    """Rows that are added and read, never changed."""

    def update(self, **_: Any) -> NoReturn:
        raise PermissionError("The journal is never rewritten. Add a row that corrects it.")

    def delete(self) -> NoReturn:
        raise PermissionError("The journal keeps every row.")

    def bulk_create(self, objs: Any, *args: Any, **kwargs: Any) -> list[Entry]:
        if kwargs.get("update_conflicts"):
            raise PermissionError("The journal is never rewritten. Add a row that corrects it.")
        return super().bulk_create(objs, *args, **kwargs)


class Entry(models.Model):
    """One row of the journal: what somebody did, or tried, and the answer they got.

    The rows of one instrument are a chain, and so are those of none: ``link`` is worked out
    from the row and the link before it (``floor/chain.py``). The database itself refuses to
    change a row or to take one away (``floor/guard.py``).
    """

    OUTCOMES: ClassVar = [("recorded", "recorded"), ("refused", "refused")]

    key = models.UUIDField(help_text="Made by the phone: the same key is the same act.")
    fingerprint = models.CharField(max_length=64)
    subject = models.CharField(max_length=16, help_text="Serial it speaks of.")
    instrument = models.ForeignKey(
        Instrument, models.PROTECT, null=True, related_name="journal", db_index=False
    )
    seq = models.PositiveIntegerField(help_text="Place in its chain, from 1.")
    kind = models.CharField(max_length=12)
    outcome = models.CharField(max_length=8, choices=OUTCOMES)
    findings = models.JSONField(default=list)
    data = models.JSONField(default=dict)
    reason = models.CharField(max_length=200, blank=True)
    # No index by person: the floor never asks for one, and each costs every write.
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    # As they were then: a badge may be numbered anew, a row may not.
    who = models.CharField(max_length=8, help_text="Badge it was done under.")
    beside = models.CharField(max_length=8, blank=True, help_text="Trainer's or witness's badge.")
    corrects = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        related_name="+",
        db_index=False,
        help_text="The earlier row that this one corrects.",
    )
    station = models.CharField(max_length=4, blank=True)
    device = models.CharField(max_length=40, blank=True)
    claimed_at = models.DateTimeField(null=True, help_text="By the phone's own clock.")
    at = models.DateTimeField(help_text="The moment it counts from, by the server's clock.")
    SOURCES: ClassVar = [("live", "at once"), ("kept", "kept on the phone")]
    source = models.CharField(max_length=4, choices=SOURCES, default="live")
    sent_at = models.DateTimeField(null=True, help_text="By the phone's own clock.")
    received_at = models.DateTimeField(null=True, help_text="By the server's clock.")
    sent_by = models.CharField(
        max_length=8, blank=True, help_text="Badge it was sent under, if another."
    )
    unproven = models.CharField(
        max_length=160, blank=True, help_text="What of badge or moment was only claimed."
    )
    sent_mark = models.CharField(
        max_length=64, blank=True, help_text="Tells what the phone sent from anything else."
    )
    form = models.PositiveSmallIntegerField(help_text="Which fields the link is worked out from.")
    link = models.CharField(max_length=64)

    objects = Written.as_manager()

    class Meta:
        ordering: ClassVar = ["id"]
        # So that what Django does by itself, as in adding to a relation, may not rewrite either.
        base_manager_name = "objects"
        verbose_name_plural = "entries"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["key"], name="entry_key_once"),
            models.UniqueConstraint(fields=["instrument", "seq"], name="entry_seq_once"),
            models.UniqueConstraint(
                fields=["seq"], condition=Q(instrument__isnull=True), name="entry_loose_seq_once"
            ),
        ]
        # Few rows are: the lead asks for them, and no other write pays for it.
        indexes: ClassVar = [
            models.Index(fields=["received_at"], condition=~Q(unproven=""), name="entry_unproven")
        ]

    def __str__(self) -> str:
        return f"{self.subject} {self.kind} {self.outcome}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise PermissionError("The journal is never rewritten. Add a row that corrects it.")
        super().save(*args, **kwargs)

    def delete(self, *_: Any, **__: Any) -> NoReturn:
        raise PermissionError("The journal keeps every row.")

    @property
    def number(self) -> int:
        """The number of the instrument it speaks of. Raises ``ValueError`` where there is none."""
        if self.instrument_id is None:
            raise ValueError(f"Row {self.pk} ({self}) speaks of no instrument.")
        return self.instrument_id
