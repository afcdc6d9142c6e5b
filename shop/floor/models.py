"""What is: bodies, necks, tags, instruments, pairs, steps and the journal.

Only the deeds behind ``floor/door.py`` write these tables. The journal (:class:`Entry`) is
what was said and done; every other table here follows from it and can be made again
(``floor/following.py``).
"""

from __future__ import annotations

from typing import Any, ClassVar, NoReturn

from django.conf import settings
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
    ]

    code = models.CharField(max_length=7)
    body = models.ForeignKey(Body, models.PROTECT, null=True, related_name="tags")
    neck = models.ForeignKey(Neck, models.PROTECT, null=True, related_name="tags")
    made_at = models.DateTimeField()
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


class Instrument(models.Model):
    """A body on its way to being a guitar. Its serial is its body's."""

    body = models.OneToOneField(Body, models.PROTECT, related_name="instrument")
    # The neck that waits for it; the pair is made at the joint machine. None while a broken
    # pair has no new neck yet.
    neck = models.OneToOneField(Neck, models.PROTECT, null=True, related_name="instrument")
    revision = models.ForeignKey("catalogue.SpecRevision", models.PROTECT, related_name="+")
    due_on = models.DateField()
    release_on = models.DateField()
    urgent = models.BooleanField(default=False)
    order = models.CharField(max_length=24, blank=True)
    destination = models.CharField(
        max_length=40, blank=True, help_text="Country it is exported to; empty: it stays here."
    )
    tray = models.OneToOneField("stock.Tray", models.PROTECT, related_name="instrument")
    deviations_count = models.PositiveSmallIntegerField(default=0)
    # The last tray check at a bench: which version of the tray, where, and its worst word.
    checked_version = models.PositiveIntegerField(null=True)
    checked_station = models.CharField(max_length=4, blank=True)
    checked_worst = models.CharField(max_length=4, blank=True)
    # The readings in force as [quantity, place, value], in the order they were taken: a
    # database may turn the keys of an object over. Every one ever taken is a Reading.
    gauged = models.JSONField(default=list)
    # Findings that stand against it now, by what raised them: tray, readings, positions.
    standing = models.JSONField(default=dict)
    # The version of the tray whose machines were found on their posts.
    placed_version = models.PositiveIntegerField(null=True)
    # What decides beside the steps what may be done on it; their shapes are in ``course.py``.
    open_step = models.JSONField(default=dict)  # begun and not recorded
    frozen = models.JSONField(default=dict)  # waits for the lead
    rework = models.JSONField(default=dict)  # the loop it is on
    repairs = models.JSONField(default=list)  # who repaired it, and when
    happened = models.JSONField(default=list)  # what moves its hold
    longer = models.JSONField(default=dict)  # hours a lead added, by clock
    ended = models.CharField(max_length=120, blank=True, help_text="Why it is scrap.")
    seq = models.PositiveIntegerField(default=0, help_text="Rows in its journal so far.")
    link = models.CharField(max_length=64, blank=True, help_text="Of its last journal row.")
    finished_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["due_on", "id"]
        indexes: ClassVar = [
            models.Index(
                fields=["due_on"], condition=Q(finished_at__isnull=True), name="instrument_open"
            )
        ]

    def __str__(self) -> str:
        return self.body.serial


class Deviation(models.Model):
    """Where this instrument departs from its spec, as agreed with the buyer."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="deviations")
    words = models.CharField(max_length=200)
    out_item = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    in_item = models.ForeignKey("catalogue.Item", models.PROTECT, null=True, related_name="+")
    approved = models.CharField(max_length=80, help_text="Who agreed, on which order.")

    class Meta:
        ordering: ClassVar = ["id"]

    def __str__(self) -> str:
        return self.words


class Pair(models.Model):
    """A neck and the one body machined for it."""

    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="pairs")
    neck = models.ForeignKey(Neck, models.PROTECT, related_name="pairs")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    ended_why = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["instrument"],
                condition=Q(ended_at__isnull=True),
                name="pair_one_open_per_body",
            ),
            models.UniqueConstraint(
                fields=["neck"], condition=Q(ended_at__isnull=True), name="pair_one_open_per_neck"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} with {self.neck}"


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
    at = models.DateTimeField(help_text="By the server's clock.")
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
        indexes: ClassVar = [models.Index(fields=["instrument"], name="step_of_instrument")]

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
    view = models.CharField(max_length=5, help_text="front or back")
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
    """The room's temperature and humidity, as somebody read them."""

    temp_c = models.DecimalField(max_digits=4, decimal_places=1)
    rh_pct = models.DecimalField(max_digits=4, decimal_places=1)
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
