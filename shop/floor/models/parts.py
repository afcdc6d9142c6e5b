"""Bodies and necks as they come in, and the tags that hang on them."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q


class Arrival(models.Model):
    """A part that another department finished and handed over."""

    serial = models.CharField(max_length=16)
    spec = models.ForeignKey("catalogue.Spec", models.PROTECT, related_name="+")
    arrived_at = models.DateTimeField()
    scrapped_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return self.serial


class Body(Arrival):
    coated_on = models.DateField(null=True, help_text="Last coat of finish.")

    class Meta:
        verbose_name_plural = "bodies"
        ordering: ClassVar = ["serial"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["serial"], name="body_serial_once")
        ]


class Neck(Arrival):
    class Meta:
        ordering: ClassVar = ["serial"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["serial"], name="neck_serial_once")
        ]


class Tag(models.Model):
    """A printed tag on a body or a neck. Once void it is void for ever."""

    WHY: ClassVar = [
        ("lost", "lost"),
        ("spoilt", "spoilt"),
        ("moved", "hung on the wrong part"),
        ("paired", "its neck was paired"),
        ("scrapped", "its part was scrapped"),
        ("reprint", "it was printed again"),
    ]

    code = models.CharField(max_length=7)
    body = models.ForeignKey(Body, models.PROTECT, null=True, related_name="tags")
    neck = models.ForeignKey(Neck, models.PROTECT, null=True, related_name="tags")
    made_at = models.DateTimeField()
    printed_at = models.DateTimeField(null=True, help_text="When it first left the printer.")
    void_at = models.DateTimeField(null=True)
    void_why = models.CharField(max_length=8, blank=True, choices=WHY)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="tag_code_once"),
            models.CheckConstraint(
                condition=Q(body__isnull=False, neck__isnull=True)
                | Q(body__isnull=True, neck__isnull=False),
                name="tag_of_one_part",
            ),
            models.UniqueConstraint(
                fields=["body"], condition=Q(void_at__isnull=True), name="tag_one_live_per_body"
            ),
            models.UniqueConstraint(
                fields=["neck"], condition=Q(void_at__isnull=True), name="tag_one_live_per_neck"
            ),
        ]

    def __str__(self) -> str:
        return self.code
