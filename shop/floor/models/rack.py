"""The hold rack: a slot for each case, with a label of its own."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Slot(models.Model):
    """A place for one case in the hold rack. Whose case lies in it is kept by the instrument.
    One that is retired stays for the rows that name it."""

    code = models.CharField(max_length=5, help_text="As it is called on the rack: H-001.")
    tag = models.CharField(max_length=7, help_text="On its label.")
    retired = models.BooleanField(default=False, help_text="No case is put there any more.")

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="slot_code_once"),
            models.UniqueConstraint(fields=["tag"], name="slot_tag_once"),
        ]

    def __str__(self) -> str:
        return self.code
