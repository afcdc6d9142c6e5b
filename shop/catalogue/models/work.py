"""The work: stations, operations, and routes with what must come before what."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import ClassVar

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from shop.catalogue.models.fields import positive
from shop.craft import gauging
from shop.craft import route as craft_route


class Station(models.Model):
    code = models.CharField(max_length=4, help_text="One letter, as on the board: N.")
    name = models.CharField(max_length=40)
    place = models.PositiveSmallIntegerField(help_text="Order along the floor.")
    caution = models.CharField(
        max_length=300, blank=True, help_text="What can hurt here and the usual protection."
    )

    class Meta:
        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="station_code_once"),
            models.UniqueConstraint(fields=["place"], name="station_place_once"),
        ]

    def __str__(self) -> str:
        return self.name


class Operation(models.Model):
    NEEDS: ClassVar = [("", "nothing scanned"), ("tray", "the tray"), ("neck", "the neck's tag")]
    GLUES: ClassVar = [("", "none"), ("white", "white glue"), ("yellow", "yellow glue")]
    WEIGHTS: ClassVar = [("", "does not matter"), ("warn", "asks for a reason"), ("stop", "stops")]
    PARTS: ClassVar = [("", "none comes in here"), ("body", "the body"), ("neck", "the neck")]

    code = models.CharField(max_length=4, help_text="As on the traveller: N40.")
    name = models.CharField(max_length=60, help_text="What is done, as a short order.")
    station = models.ForeignKey(Station, models.PROTECT, related_name="operations")
    touch_min = models.DecimalField(
        max_digits=6, decimal_places=2, validators=[MinValueValidator(Decimal("0.01"))]
    )
    needs = models.CharField(max_length=4, blank=True, choices=NEEDS)
    irreversible = models.BooleanField(default=False)
    positions = models.BooleanField(
        default=False, help_text="Each machine's post is checked and photographed first."
    )
    glue = models.CharField(max_length=6, blank=True, choices=GLUES)
    finish_age = models.CharField(
        max_length=4, blank=True, choices=WEIGHTS, help_text="What a finish still too young does."
    )
    papers = models.BooleanField(
        default=False, help_text="Stops without the papers that this guitar's woods need."
    )
    rests = models.CharField(
        max_length=4,
        blank=True,
        choices=PARTS,
        help_text="The part that comes in here and rests in the room first.",
    )
    rest_h = models.PositiveSmallIntegerField(default=0, help_text="Hours since it arrived.")
    machine = models.BooleanField(
        default=False, help_text="A power cut leaves its cut unknown until somebody looks."
    )
    trained = models.BooleanField(
        default=False, help_text="Only people signed off for its station."
    )
    proves = models.BooleanField(
        default=False, help_text="Stops while anything recorded before it is in doubt."
    )
    freezes = models.BooleanField(
        default=False, help_text="What was built is on record from here on and stays so."
    )
    checklist = models.BooleanField(
        default=False,
        help_text="A look: every area of the checklist is answered before it is recorded.",
    )
    limits = models.CharField(max_length=300, blank=True)
    caution = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["code"], name="operation_code_once"),
            *positive("operation", "touch_min"),
            models.CheckConstraint(
                condition=Q(needs__in=["", "tray", "neck"]), name="operation_needs_known"
            ),
            models.CheckConstraint(
                condition=Q(glue__in=["", "white", "yellow"]), name="operation_glue_known"
            ),
            models.CheckConstraint(
                condition=Q(finish_age__in=["", "warn", "stop"]), name="operation_age_known"
            ),
            models.CheckConstraint(
                condition=Q(rests__in=["", "body", "neck"]), name="operation_rests_known"
            ),
            models.CheckConstraint(
                condition=Q(rest_h=0) | ~Q(rests=""),
                name="operation_rest_is_of_a_part",
                violation_error_message="Say which part rests, or give 0 hours.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def facts(self) -> craft_route.OperationFacts:
        """What craft knows of it, its gaugings with it."""
        return craft_route.OperationFacts(
            code=self.code,
            name=self.name,
            station=self.station.name,
            needs=self.needs,  # type: ignore[arg-type]  # the constraint holds it to the three
            irreversible=self.irreversible,
            touch_min=self.touch_min,
            gauges=tuple(one.quantity for one in self.gaugings.all()),
            positions=self.positions,
            glue=self.glue,  # type: ignore[arg-type]
            finish_age=self.finish_age,  # type: ignore[arg-type]
            papers=self.papers,
            station_code=self.station.code,
            rests=self.rests,  # type: ignore[arg-type]
            rest_h=self.rest_h,
            machine=self.machine,
            trained=self.trained,
            proves=self.proves,
            freezes=self.freezes,
            checklist=self.checklist,
        )


def quantities() -> list[tuple[str, str]]:
    """What can be measured, to choose from."""
    return [(one.key, one.words) for one in gauging.QUANTITIES.values()]


class Gauging(models.Model):
    """A quantity that is measured at an operation before it can be recorded."""

    operation = models.ForeignKey(Operation, models.CASCADE, related_name="gaugings")
    quantity = models.CharField(max_length=16, choices=quantities)
    place = models.PositiveSmallIntegerField(help_text="Order in which they are asked.")

    class Meta:
        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["operation", "quantity"], name="gauging_once"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} at {self.operation.code}"


class Route(models.Model):
    name = models.CharField(max_length=60)

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["name"], name="route_name_once")]

    def __str__(self) -> str:
        return self.name


class RouteStop(models.Model):
    """An operation on a route, with its place in shop order."""

    route = models.ForeignKey(Route, models.CASCADE, related_name="stops")
    operation = models.ForeignKey(Operation, models.PROTECT, related_name="+")
    place = models.PositiveSmallIntegerField()

    class Meta:
        ordering: ClassVar = ["place"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["route", "operation"], name="route_operation_once"),
            models.UniqueConstraint(fields=["route", "place"], name="route_place_once"),
        ]

    def __str__(self) -> str:
        return f"{self.place}. {self.operation}"


class Precedence(models.Model):
    """``after`` may start when ``before`` is done and ``wait`` has passed since."""

    route = models.ForeignKey(Route, models.CASCADE, related_name="precedences")
    before = models.ForeignKey(Operation, models.PROTECT, related_name="+")
    after = models.ForeignKey(Operation, models.PROTECT, related_name="+")
    wait = models.DurationField(
        default=timedelta, help_text="Hours:minutes:seconds to dry or rest."
    )
    clock = models.CharField(
        max_length=24,
        blank=True,
        help_text="What the wait is called: neck clamp. The days in the case are called hold.",
    )
    noted = models.BooleanField(default=False, help_text="The wait is told and keeps nothing back.")
    other_person = models.BooleanField(
        default=False, help_text="Whoever did the first may not do the second."
    )
    apart_days = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="That only holds for so many days; empty: for ever."
    )

    class Meta:
        ordering: ClassVar = ["route", "before", "after"]
        verbose_name_plural = "precedences"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["route", "before", "after"], name="precedence_once"),
            models.CheckConstraint(condition=~Q(before=F("after")), name="precedence_not_itself"),
            models.CheckConstraint(
                condition=Q(wait__gte=timedelta(0)), name="precedence_wait_not_negative"
            ),
            models.UniqueConstraint(
                fields=["route"],
                condition=Q(clock=craft_route.HOLD),
                name="precedence_one_hold",
                violation_error_message="A route has one hold. Name the other wait differently.",
            ),
            models.CheckConstraint(
                condition=~Q(clock=craft_route.HOLD)
                | Q(wait__gte=timedelta(hours=craft_route.HOLD_H)),
                name="precedence_hold_is_long_enough",
                violation_error_message=(
                    f"The hold is {craft_route.HOLD_H} h at least. "
                    f"Give {craft_route.HOLD_H}:00:00 or more."
                ),
            ),
            models.CheckConstraint(
                condition=~Q(clock=craft_route.HOLD, noted=True),
                name="precedence_hold_keeps_back",
                violation_error_message="The hold keeps the next look back. Take noted off.",
            ),
            models.CheckConstraint(
                condition=Q(apart_days__isnull=True) | Q(other_person=True),
                name="precedence_apart_is_of_persons",
                violation_error_message="Days apart are of persons. Tick other person as well.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.before.code} before {self.after.code}"

    def facts(self) -> craft_route.Precedence:
        return craft_route.Precedence(
            before=self.before.code,
            after=self.after.code,
            wait=self.wait,
            other_person=self.other_person,
            clock=self.clock,
            noted=self.noted,
            apart_days=self.apart_days,
        )
