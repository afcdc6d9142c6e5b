"""Badges: the people of the shop, known by badge and role only."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.models import PermissionsMixin
from django.core.validators import RegexValidator
from django.db import models
from django.db.models import F, Q


class BadgeManager(BaseUserManager["Badge"]):
    """Makes badges; named as Django's authentication asks for it."""

    def create_user(self, code: str, pin: str, **fields: Any) -> Badge:
        badge = self.model(code=code, **fields)
        badge.set_password(pin)
        badge.save(using=self._db)
        return badge

    def create_superuser(self, code: str, password: str, **fields: Any) -> Badge:
        return self.create_user(code, password, is_superuser=True, is_staff=True, **fields)


class Badge(AbstractBaseUser, PermissionsMixin):
    """One person's badge. The PIN is the password, hashed as Django hashes passwords."""

    code = models.CharField(
        max_length=8,
        validators=[RegexValidator(r"^[A-Z]+-\d+$", "Write it as letters, dash, number: P-11.")],
        help_text="What stands on the badge: P-11.",
    )
    # Null, not empty, where there is no card yet: two empty ones would be the same code.
    card = models.CharField(  # noqa: DJ001
        max_length=7, null=True, blank=True, help_text="The code in the badge's QR."
    )
    home_station = models.CharField(
        max_length=4, blank=True, help_text="Code of the station the person usually works at."
    )
    UNITS: ClassVar = [("mm", "mm"), ("both", "mm and inch"), ("inch", "inch")]
    units = models.CharField(
        max_length=4, choices=UNITS, default="mm", help_text="Lengths on this person's screens."
    )
    LANGUAGES: ClassVar = [("", "as the phone asks"), ("en", "English"), ("es", "Español")]
    language = models.CharField(
        max_length=2,
        choices=LANGUAGES,
        blank=True,
        default="",
        help_text="Of this person's screens.",
    )
    THUMBS: ClassVar = [("right", "right thumb"), ("left", "left thumb")]
    thumb = models.CharField(
        max_length=5, choices=THUMBS, default="right", help_text="The hand that holds the phone."
    )
    SIZES: ClassVar = [("usual", "usual"), ("large", "large"), ("largest", "largest")]
    text_size = models.CharField(
        max_length=7,
        choices=SIZES,
        default="usual",
        help_text="Of the text on this person's screens.",
    )
    is_active = models.BooleanField(default=True)
    is_staff = models.BooleanField(
        default=False, help_text="May open the office pages (leads only)."
    )
    wrong_pins = models.PositiveSmallIntegerField(default=0, editable=False)
    wait_until = models.DateTimeField(null=True, editable=False)
    locked = models.BooleanField(default=False, help_text="Locked after too many wrong PINs.")
    # What the rows of Training come to, {station code: ISO date}: a scan asks nothing further.
    trained = models.JSONField(
        default=dict, editable=False, help_text="Last day of each sign-off, by station."
    )

    USERNAME_FIELD = "code"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    objects = BadgeManager()

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="badge_code_once"),
            models.UniqueConstraint(fields=["card"], name="badge_card_once"),
        ]

    def __str__(self) -> str:
        return self.code


class Training(models.Model):
    """One sign-off of a badge for a station, by its trainer. Rows are added, never changed: a
    renewal is another row, and so is an end, whose last day lies before its own.
    """

    badge = models.ForeignKey(Badge, models.PROTECT, related_name="trainings")
    station = models.CharField(max_length=4, help_text="Code of the station.")
    signed_by = models.ForeignKey(Badge, models.PROTECT, related_name="+", db_index=False)
    on = models.DateField(help_text="Day it was signed.")
    until = models.DateField(help_text="Last day it counts.")

    class Meta:
        ordering: ClassVar = ["id"]
        default_permissions = ()
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=~Q(signed_by=F("badge")) | Q(until__lt=F("on")),
                name="training_by_another",
            )
        ]

    def __str__(self) -> str:
        return f"{self.badge} at {self.station} until {self.until}"

    @property
    def ends(self) -> bool:
        """Whether the row takes the station away instead of giving it."""
        return self.until < self.on


class Right(models.Model):
    """Carries the shop's own rights (see ``roles.py``); it has no table."""

    class Meta:
        managed = False
        default_permissions = ()

    def __str__(self) -> str:
        return "right"
