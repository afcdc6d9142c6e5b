"""What was done, measured, found and seen: each with the journal row that says so."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import Q

from shop.floor.models.gauges import Gauge
from shop.floor.models.instruments import Instrument
from shop.floor.models.journal import Entry


class Step(models.Model):
    """An operation done on an instrument. Struck, or to be done again, it stays as void."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="steps", db_index=False)
    operation = models.ForeignKey(
        "catalogue.Operation", models.PROTECT, related_name="+", db_index=False
    )
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    others = models.JSONField(default=list)  # badges of helpers and of the trainer
    at = models.DateTimeField(help_text="When it counts as done: clocks run from here.")
    claimed_at = models.DateTimeField(null=True, help_text="When it was done, if entered late.")
    doubt = models.CharField(max_length=120, blank=True, help_text="Why it is to be confirmed.")
    seq = models.PositiveIntegerField(help_text="Its row in the instrument's journal.")
    void_at = models.DateTimeField(null=True)
    void_why = models.CharField(max_length=200, blank=True)
    struck = models.BooleanField(default=False, help_text="Void because it never was so.")
    # One journal row, one step; the step is never looked for from there.
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["at", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument", "operation"],
                condition=Q(void_at__isnull=True),
                name="step_once",
            )
        ]
        indexes: ClassVar = [
            models.Index(fields=["instrument"], name="step_of_instrument"),
            # What passed the first time is counted along it, and the rows are not read.
            models.Index(
                fields=["operation", "at"], condition=Q(void_at__isnull=True), name="step_stands"
            ),
            # Few rows are: what was done again is told by the index alone, and no other write pays.
            models.Index(
                fields=["instrument", "operation", "at", "void_why"],
                condition=Q(void_at__isnull=False, struck=False),
                name="step_void",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.operation.code} on {self.instrument}"


class Reading(models.Model):
    """A measured value. One that is corrected stays; the latest of its place is in force."""

    instrument = models.ForeignKey(
        Instrument, models.PROTECT, related_name="readings", db_index=False
    )
    quantity = models.CharField(max_length=16)
    place = models.CharField(max_length=8)
    value = models.DecimalField(max_digits=9, decimal_places=4, help_text="In its unit; mm.")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    at = models.DateTimeField()
    operation = models.CharField(max_length=4, blank=True, help_text="Where it was measured.")
    # No index: where a gauge was used is asked once in a long while, readings come all day.
    tool = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="+", db_index=False)
    overdue = models.BooleanField(default=False, help_text="Its tool was not checked in time.")
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+", db_index=False)

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [
            models.Index(fields=["instrument", "quantity", "place"], name="reading_of_place")
        ]

    def __str__(self) -> str:
        return f"{self.quantity} {self.place} {self.value} of {self.instrument}"


class Rework(models.Model):
    """One loop of an instrument: what was found, the repair, and what was done again."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="reworks")
    loop = models.CharField(max_length=24, help_text="Which loop of the catalogue.")
    word = models.CharField(max_length=24, help_text="The defect, in its one word.")
    words = models.CharField(max_length=200, blank=True)
    found_at = models.CharField(max_length=4, blank=True, help_text="Operation or station.")
    redo = models.JSONField(default=list)  # operations done again, in shop order
    opened_at = models.DateTimeField()
    repaired_at = models.DateTimeField(null=True)
    repaired_by = models.CharField(max_length=8, blank=True)
    dry_until = models.DateTimeField(null=True)
    closed_at = models.DateTimeField(null=True)
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument"],
                condition=Q(closed_at__isnull=True),
                name="rework_one_open",
            )
        ]

    def __str__(self) -> str:
        return f"{self.loop} of {self.instrument}"


class AsBuilt(models.Model):
    """What an instrument was when it was released: frozen then, and the same for ever."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="as_built")
    record = models.JSONField()
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        # Newest first: one that came back from the dock is released again, and both are kept.
        ordering: ClassVar = ["-id"]
        verbose_name_plural = "as built"

    def __str__(self) -> str:
        return f"{self.instrument} as built"


class Photo(models.Model):
    """A picture kept with what was done. The file's name is what its bytes hash to."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="photos")
    operation = models.CharField(max_length=4)
    view = models.CharField(max_length=5, help_text="front, back or spot")
    sha256 = models.CharField(max_length=64)
    bytes = models.PositiveIntegerField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="photos")

    class Meta:
        ordering: ClassVar = ["id"]
        indexes: ClassVar = [models.Index(fields=["sha256"], name="photo_by_hash")]

    def __str__(self) -> str:
        return f"{self.view} of {self.instrument} at {self.operation}"


class RoomReading(models.Model):
    """The room's temperature and humidity, as somebody read them or a sensor noted them."""

    temp_c = models.DecimalField(max_digits=4, decimal_places=1)
    rh_pct = models.DecimalField(max_digits=4, decimal_places=1)
    sensor = models.CharField(max_length=20, blank=True, help_text="Empty: read by a person.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["-at", "-id"]
        indexes: ClassVar = [models.Index(fields=["-at", "-id"], name="room_newest")]

    def __str__(self) -> str:
        return f"{self.temp_c} °C, {self.rh_pct} %RH"


class Permit(models.Model):
    """A paper that lets a wood of this instrument cross a border."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="permits")
    wood = models.CharField(max_length=60, help_text="Botanical name.")
    number = models.CharField(max_length=40)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(number=""), name="permit_has_a_number"),
            models.UniqueConstraint(fields=["instrument", "wood", "number"], name="permit_once"),
        ]

    def __str__(self) -> str:
        return f"{self.number} for {self.wood}"


class HelpCall(models.Model):
    """Somebody at a bench asks the clerk or the lead to come."""

    WHOM: ClassVar = [("clerk", "kitting clerk"), ("lead", "lead")]

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="calls")
    whom = models.CharField(max_length=5, choices=WHOM)
    words = models.CharField(max_length=300)
    station = models.CharField(max_length=4)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    entry = models.ForeignKey(Entry, models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["at"]
        indexes: ClassVar = [
            models.Index(
                fields=["whom", "at"], condition=Q(answered_at__isnull=True), name="call_open"
            )
        ]

    def __str__(self) -> str:
        return f"{self.whom} to {self.station}: {self.words}"
