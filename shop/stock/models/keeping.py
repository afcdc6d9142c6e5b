"""How an item is kept in stock, what is ordered of it, and what will want it."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models
from django.db.models import F, Q


class StockRule(models.Model):
    """How one item is counted, ordered and weighed. What is empty goes by its class."""

    CLASSES: ClassVar = [("A", "A: dear or scarce"), ("B", "B"), ("C", "C: cheap")]

    item = models.OneToOneField("catalogue.Item", models.PROTECT, related_name="stock_rule")
    cls = models.CharField("class", max_length=1, choices=CLASSES, default="C")
    tolerance_pct = models.DecimalField(
        max_digits=4, decimal_places=1, null=True, blank=True, help_text="Of a count."
    )
    count_every_days = models.PositiveSmallIntegerField(null=True, blank=True)
    least = models.PositiveIntegerField(
        default=0, help_text="Never order later than at so many, whatever the demand says."
    )
    pack = models.PositiveSmallIntegerField(default=1, help_text="Ordered in packs of so many.")
    lead_days = models.PositiveSmallIntegerField(default=14, help_text="Order to receipt, days.")
    lead_sd_days = models.DecimalField(
        max_digits=5, decimal_places=1, default=0, help_text="Standard deviation of it, days."
    )
    service_pct = models.DecimalField(
        max_digits=4,
        decimal_places=1,
        default=95,
        help_text="Chance of no short while an order is under way, per cent.",
    )
    unit_g = models.DecimalField(
        max_digits=7, decimal_places=3, null=True, blank=True, help_text="Mean of one piece, gram."
    )
    unit_sd_g = models.DecimalField(
        max_digits=7, decimal_places=3, null=True, blank=True, help_text="Its deviation, gram."
    )
    bag_g = models.DecimalField(
        max_digits=6, decimal_places=2, null=True, blank=True, help_text="The empty bag, gram."
    )
    small_parts = models.PositiveSmallIntegerField(
        default=0, help_text="Screws that belong to one set, spare included: weighed as a bag."
    )

    class Meta:
        ordering: ClassVar = ["item"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=Q(service_pct__gt=50, service_pct__lt=100), name="stockrule_service"
            ),
            models.CheckConstraint(condition=Q(pack__gt=0), name="stockrule_pack"),
            models.CheckConstraint(
                condition=Q(unit_g__isnull=True) | Q(unit_g__gt=0), name="stockrule_unit"
            ),
        ]

    def __str__(self) -> str:
        return f"How {self.item.key} is kept"


class Delivery(models.Model):
    """Pieces of an item on order: how many are to come, and when."""

    item = models.ForeignKey("catalogue.Item", models.PROTECT, related_name="deliveries")
    quantity = models.PositiveIntegerField()
    due_on = models.DateField()
    order = models.CharField(max_length=24, blank=True, help_text="Number of the order.")
    came = models.PositiveIntegerField(default=0, help_text="So many of it came in.")
    # Given up before all of it came.
    ended_why = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering: ClassVar = ["due_on", "id"]
        verbose_name_plural = "deliveries"
        constraints: ClassVar = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="delivery_of_something"),
            models.UniqueConstraint(
                fields=["item", "order"],
                condition=~Q(order=""),
                name="delivery_once_an_order",
            ),
        ]
        indexes: ClassVar = [models.Index(fields=["item", "due_on"], name="delivery_of_item")]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item.key} due {self.due_on}"


class Order(models.Model):
    """Instruments ordered and not all released yet: their kits will be wanted."""

    ref = models.CharField(max_length=24, help_text="Number of the order.")
    spec = models.ForeignKey("catalogue.Spec", models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField()
    released = models.PositiveSmallIntegerField(default=0)
    due_on = models.DateField()
    # A sample or a custom build: nothing in its kit is exchanged.
    as_agreed = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["due_on", "ref"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["ref", "spec"], name="order_once_a_spec"),
            models.CheckConstraint(
                condition=Q(quantity__gt=0, quantity__gte=F("released")), name="order_of_something"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.ref}: {self.quantity} × {self.spec.key}"


class Intake(models.Model):
    """A list brought in as a file: read, looked at, and taken over whole or not at all."""

    WHATS: ClassVar = [
        ("items", "items"),
        ("stock", "stock"),
        ("receipts", "receipts"),
        ("orders", "orders"),
    ]

    what = models.CharField(max_length=8, choices=WHATS)
    name = models.CharField(max_length=120, help_text="Of the file.")
    rows = models.JSONField(help_text="As read, each with its line number.")
    faults = models.JSONField(default=list, help_text="Line number and reason, each.")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    taken_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    taken_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        return f"{self.name} ({self.what})"
