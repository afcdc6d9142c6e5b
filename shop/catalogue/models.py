"""What should be: stations, operations, routes, specs in revisions, hardware and kits.

Models hold fields, constraints and ``facts()``; rules live in ``shop.craft``.
Lengths are decimal millimetres, forces newtons, tapers included degrees.
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from typing import Any, ClassVar

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from shop.craft import hardware
from shop.craft import route as craft_route

HANDS = [("RH", "right-handed"), ("LH", "left-handed"), ("any", "either hand")]
METALS = [(metal.value, metal.value) for metal in hardware.Metal]
BUSHINGS = [(kind.value, kind.words) for kind in hardware.Bushing]
CARRIED = [(kind.value, kind.words) for kind in hardware.TunerFamily]


def mm(**extra: Any) -> models.DecimalField[Any, Any]:
    """A length in millimetres, to the micrometre."""
    return models.DecimalField(
        max_digits=7, decimal_places=3, validators=[MinValueValidator(Decimal("0.001"))], **extra
    )


def some_mm(**extra: Any) -> models.DecimalField[Any, Any]:
    """A length that this article or spec may not have."""
    return mm(null=True, blank=True, **extra)


def positive(table: str, *names: str) -> list[models.BaseConstraint]:
    """Each named number is above zero wherever it exists."""
    return [
        models.CheckConstraint(
            condition=Q(**{f"{name}__gt": 0}) | Q(**{f"{name}__isnull": True}),
            name=f"{table}_{name}_positive",
        )
        for name in names
    ]


# --- the work ---------------------------------------------------------------


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

    code = models.CharField(max_length=4, help_text="As on the traveller: N40.")
    name = models.CharField(max_length=60, help_text="What is done, as a short order.")
    station = models.ForeignKey(Station, models.PROTECT, related_name="operations")
    touch_min = models.DecimalField(
        max_digits=6, decimal_places=2, validators=[MinValueValidator(Decimal("0.01"))]
    )
    needs = models.CharField(max_length=4, blank=True, choices=NEEDS)
    irreversible = models.BooleanField(default=False)
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
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def facts(self) -> craft_route.OperationFacts:
        return craft_route.OperationFacts(
            code=self.code,
            name=self.name,
            station=self.station.name,
            needs=self.needs,  # type: ignore[arg-type]  # the constraint holds it to the three
            irreversible=self.irreversible,
            touch_min=self.touch_min,
        )


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
    other_person = models.BooleanField(
        default=False, help_text="Whoever did the first may not do the second."
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
        ]

    def __str__(self) -> str:
        return f"{self.before.code} before {self.after.code}"


# --- hardware ---------------------------------------------------------------


class Item(models.Model):
    """A hardware article. Each family below adds its dimensions."""

    key = models.CharField(max_length=12, help_text="Short name on bin and label: T01.")
    family = models.CharField(
        max_length=12, choices=[(one.value, one.words) for one in hardware.Family], editable=False
    )
    name = models.CharField(max_length=80)
    metal = models.CharField(max_length=8, blank=True, choices=METALS, help_text="What shows.")
    obsolete = models.BooleanField(default=False)

    family_is: ClassVar[hardware.Family]

    class Meta:
        ordering: ClassVar = ["key"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["key"], name="item_key_once")]

    def __str__(self) -> str:
        return f"{self.key} {self.name}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        if type(self) is not Item:
            self.family = self.family_is.value
        super().save(*args, **kwargs)

    def facts(self) -> hardware.Article:
        """This article with its dimensions, as craft knows it."""
        part: Item = getattr(self, CHILD_OF[self.family])
        return part.facts()

    def _shared(self) -> dict[str, Any]:
        return {
            "key": self.key,
            "name": self.name,
            "metal": hardware.Metal(self.metal) if self.metal else None,
        }


class TunerSet(Item):
    family_is = hardware.Family.TUNERS

    carried = models.CharField(max_length=6, choices=CARRIED)
    left = models.PositiveSmallIntegerField(help_text="Machines for the left, seen from the front.")
    right = models.PositiveSmallIntegerField()
    hand = models.CharField(max_length=3, choices=HANDS, help_text="Hand of the whole set.")
    bushing = models.CharField(max_length=6, choices=BUSHINGS)
    bushing_od_mm = some_mm()
    post_mm = mm(help_text="Post, or roller on a slotted head.")
    reach_mm = some_mm(help_text="Seat to string hole.")
    peghead_min_mm = some_mm()
    peghead_max_mm = some_mm()
    spacing_mm = some_mm(help_text="Between posts on one plate.")
    plate_width_mm = mm()
    button_width_mm = mm()
    screw_length_mm = mm()
    ratios = models.CharField(max_length=60, help_text="One for all, or 6 to 1 with strokes.")

    class Meta:
        verbose_name = "tuning machine set"
        constraints: ClassVar = [
            *positive(
                "tuners", "bushing_od_mm", "post_mm", "reach_mm", "peghead_min_mm",
                "peghead_max_mm", "spacing_mm", "plate_width_mm", "button_width_mm",
                "screw_length_mm",
            ),
            models.CheckConstraint(
                condition=Q(left__gt=0) | Q(right__gt=0), name="tuners_some_machines"
            ),
            models.CheckConstraint(
                condition=Q(peghead_min_mm__isnull=True)
                | Q(peghead_max_mm__gte=F("peghead_min_mm")),
                name="tuners_peghead_range",
            ),
            models.CheckConstraint(
                condition=Q(bushing="none") | Q(bushing_od_mm__isnull=False),
                name="tuners_bushing_has_od",
            ),
        ]  # fmt: skip

    def facts(self) -> hardware.TunerSet:
        return hardware.TunerSet(
            **self._shared(),
            carried=hardware.TunerFamily(self.carried),
            left=self.left,
            right=self.right,
            hand=hardware.Hand(self.hand),
            bushing=hardware.Bushing(self.bushing),
            bushing_od_mm=self.bushing_od_mm,
            post_mm=self.post_mm,
            reach_mm=self.reach_mm,
            peghead_min_mm=self.peghead_min_mm,
            peghead_max_mm=self.peghead_max_mm,
            spacing_mm=self.spacing_mm,
            plate_width_mm=self.plate_width_mm,
            button_width_mm=self.button_width_mm,
            screw_length_mm=self.screw_length_mm,
            ratios=tuple(self.ratios.split("/")),
        )


class Nut(Item):
    family_is = hardware.Family.NUT

    width_mm = mm()
    spread_mm = some_mm(help_text="Outer string to outer string; empty when flat or in pairs.")
    string_count = models.PositiveSmallIntegerField()
    slotted = models.BooleanField(default=True)
    hand = models.CharField(max_length=3, choices=HANDS)
    pair_gap_mm = some_mm()

    class Meta:
        constraints: ClassVar = positive(
            "nut", "width_mm", "spread_mm", "string_count", "pair_gap_mm"
        )

    def facts(self) -> hardware.Nut:
        return hardware.Nut(
            **self._shared(),
            width_mm=self.width_mm,
            spread_mm=self.spread_mm,
            strings=self.string_count,
            slotted=self.slotted,
            hand=hardware.Hand(self.hand),
            pair_gap_mm=self.pair_gap_mm,
        )


class Saddle(Item):
    family_is = hardware.Family.SADDLE

    thickness_mm = mm()
    length_mm = mm()
    height_mm = mm()
    string_count = models.PositiveSmallIntegerField()
    hand = models.CharField(max_length=3, choices=HANDS)

    class Meta:
        constraints: ClassVar = positive(
            "saddle", "thickness_mm", "length_mm", "height_mm", "string_count"
        )

    def facts(self) -> hardware.Saddle:
        return hardware.Saddle(
            **self._shared(),
            thickness_mm=self.thickness_mm,
            length_mm=self.length_mm,
            height_mm=self.height_mm,
            strings=self.string_count,
            hand=hardware.Hand(self.hand),
        )


class Pins(Item):
    family_is = hardware.Family.PINS

    count = models.PositiveSmallIntegerField()
    taper_deg = models.DecimalField(max_digits=4, decimal_places=2)
    collar_mm = mm(help_text="Diameter just under the collar.")
    slotted = models.BooleanField()

    class Meta:
        verbose_name_plural = "pins"
        constraints: ClassVar = positive("pins", "count", "taper_deg", "collar_mm")

    def facts(self) -> hardware.Pins:
        return hardware.Pins(
            **self._shared(),
            count=self.count,
            taper_deg=self.taper_deg,
            collar_mm=self.collar_mm,
            slotted=self.slotted,
        )


class Tail(Item):
    family_is = hardware.Family.TAIL

    kind = models.CharField(max_length=4, choices=[("pin", "end pin"), ("jack", "end jack")])
    hole_mm = mm()
    grip_min_mm = some_mm(help_text="Thinnest tail block a jack grips.")
    grip_max_mm = some_mm()

    class Meta:
        verbose_name = "end pin or jack"
        verbose_name_plural = "end pins and jacks"
        constraints: ClassVar = [
            *positive("tail", "hole_mm", "grip_min_mm", "grip_max_mm"),
            models.CheckConstraint(
                condition=Q(grip_min_mm__isnull=True) | Q(grip_max_mm__gte=F("grip_min_mm")),
                name="tail_grip_range",
            ),
        ]

    def facts(self) -> hardware.Tail:
        return hardware.Tail(
            **self._shared(),
            kind=self.kind,
            hole_mm=self.hole_mm,
            grip_min_mm=self.grip_min_mm,
            grip_max_mm=self.grip_max_mm,
        )


class StrapButton(Item):
    family_is = hardware.Family.STRAP

    screw_mm = mm()
    screw_length_mm = mm()
    pilot_mm = mm()

    class Meta:
        constraints: ClassVar = positive("strap", "screw_mm", "screw_length_mm", "pilot_mm")

    def facts(self) -> hardware.StrapButton:
        return hardware.StrapButton(
            **self._shared(),
            screw_mm=self.screw_mm,
            screw_length_mm=self.screw_length_mm,
            pilot_mm=self.pilot_mm,
        )


class Guard(Item):
    family_is = hardware.Family.GUARD

    hand = models.CharField(max_length=3, choices=HANDS)

    class Meta:
        verbose_name = "pickguard"

    def facts(self) -> hardware.Guard:
        return hardware.Guard(**self._shared(), hand=hardware.Hand(self.hand))


class Electronics(Item):
    family_is = hardware.Family.ELECTRONICS

    element_mm = mm(help_text="Height of the element under the saddle.")
    battery_kind = models.CharField(max_length=12)

    class Meta:
        verbose_name_plural = "electronics"
        constraints: ClassVar = positive("electronics", "element_mm")

    def facts(self) -> hardware.Electronics:
        return hardware.Electronics(
            **self._shared(), element_mm=self.element_mm, battery=self.battery_kind
        )


class Battery(Item):
    family_is = hardware.Family.BATTERY

    kind = models.CharField(max_length=12)

    class Meta:
        verbose_name_plural = "batteries"

    def facts(self) -> hardware.Battery:
        return hardware.Battery(**self._shared(), kind=self.kind)


class Strings(Item):
    family_is = hardware.Family.STRINGS

    count = models.PositiveSmallIntegerField()
    material = models.CharField(max_length=6, choices=[("steel", "steel"), ("nylon", "nylon")])
    tension_n = models.PositiveIntegerField(help_text="Whole set at its usual scale, newtons.")

    class Meta:
        verbose_name = "string set"
        constraints: ClassVar = positive("strings", "count", "tension_n")

    def facts(self) -> hardware.Strings:
        return hardware.Strings(
            **self._shared(), count=self.count, material=self.material, tension_n=self.tension_n
        )


class Case(Item):
    family_is = hardware.Family.CASE

    inside_overall_mm = mm()
    inside_body_mm = mm()
    inside_width_mm = mm()
    inside_depth_mm = mm()

    class Meta:
        constraints: ClassVar = positive(
            "case", "inside_overall_mm", "inside_body_mm", "inside_width_mm", "inside_depth_mm"
        )

    def facts(self) -> hardware.Case:
        return hardware.Case(
            **self._shared(),
            inside_overall_mm=self.inside_overall_mm,
            inside_body_mm=self.inside_body_mm,
            inside_width_mm=self.inside_width_mm,
            inside_depth_mm=self.inside_depth_mm,
        )


PARTS: tuple[type[Item], ...] = (
    TunerSet, Nut, Saddle, Pins, Tail, StrapButton, Guard, Electronics, Battery, Strings, Case,
)  # fmt: skip
CHILD_OF: dict[str, str] = {part.family_is.value: part.__name__.lower() for part in PARTS}


# --- specs ------------------------------------------------------------------


class Spec(models.Model):
    """A model of guitar. Its build facts stand in its revisions."""

    key = models.CharField(max_length=16, help_text="As printed on tags: TARN.")

    class Meta:
        ordering: ClassVar = ["key"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["key"], name="spec_key_once")]

    def __str__(self) -> str:
        return self.key


class SpecRevision(models.Model):
    """The build facts of a spec at one time. Once open it is never changed again."""

    STATES: ClassVar = [("draft", "draft"), ("open", "open"), ("closed", "closed")]
    YES_NO: ClassVar = [(True, "yes"), (False, "no")]

    spec = models.ForeignKey(Spec, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=6, choices=STATES, default="draft", editable=False)
    # Rises whenever anything drawn from this revision changes: what is kept in memory or
    # already drawn for an older version is then no longer found.
    version = models.PositiveIntegerField(default=1, editable=False)
    route = models.ForeignKey(Route, models.PROTECT, related_name="revisions")

    hand = models.CharField(max_length=3, choices=HANDS[:2])
    strings = models.PositiveSmallIntegerField()
    head = models.CharField(max_length=8, choices=[("solid", "solid"), ("slotted", "slotted")])
    tuner_family = models.CharField(max_length=6, choices=CARRIED)
    reversed_line = models.BooleanField(default=False)
    octave_on_bass_side = models.BooleanField(default=True)
    bushing = models.CharField(max_length=6, choices=BUSHINGS)
    bushing_hole_mm = some_mm()
    post_hole_mm = mm(help_text="Through hole, or side hole of a slotted head.")
    peghead_mm = mm()
    wall_mm = some_mm(help_text="Slotted head: wood beside the slot.")
    pitch_mm = mm()
    spacing_mm = some_mm()
    metal = models.CharField(max_length=8, choices=METALS)
    nut_width_mm = mm()
    nut_spread_mm = some_mm()
    saddle_slot_width_mm = mm()
    saddle_slot_length_mm = mm()
    pin_taper_deg = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)
    pins_slotted = models.BooleanField(null=True, blank=True)
    tail = models.CharField(
        max_length=4, choices=[("pin", "end pin"), ("jack", "end jack"), ("none", "none")]
    )
    tail_hole_mm = some_mm()
    tail_block_mm = mm()
    guard = models.CharField(max_length=3, blank=True, choices=HANDS[:2])
    electronics = models.CharField(max_length=12, blank=True, help_text="Battery kind, as 9V.")
    string_material = models.CharField(
        max_length=6, choices=[("steel", "steel"), ("nylon", "nylon")]
    )
    tension_limit_n = models.PositiveIntegerField(help_text="Newtons, the whole set.")
    overall_mm = mm()
    body_length_mm = mm()
    body_width_mm = mm()
    body_depth_mm = mm()
    scale_mm = mm()
    body_joint_fret = models.PositiveSmallIntegerField()
    joint = models.CharField(max_length=40)
    finish = models.CharField(max_length=40)
    relief_mm = mm()
    action_bass_mm = mm(help_text="String height over fret 12, thickest string.")
    action_treble_mm = mm()

    class Meta:
        ordering: ClassVar = ["spec", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["spec", "number"], name="revision_number_once"),
            models.UniqueConstraint(
                fields=["spec"], condition=Q(state="open"), name="revision_one_open"
            ),
            models.UniqueConstraint(
                fields=["spec"], condition=Q(state="draft"), name="revision_one_draft"
            ),
            models.CheckConstraint(
                condition=Q(bushing="none") | Q(bushing_hole_mm__isnull=False),
                name="revision_bushing_has_hole",
            ),
            models.CheckConstraint(
                condition=Q(tail="none") | Q(tail_hole_mm__isnull=False),
                name="revision_tail_has_hole",
            ),
            *positive(
                "revision", "strings", "bushing_hole_mm", "post_hole_mm", "peghead_mm",
                "wall_mm", "pitch_mm", "spacing_mm", "nut_width_mm", "nut_spread_mm",
                "saddle_slot_width_mm", "saddle_slot_length_mm", "pin_taper_deg", "tail_hole_mm",
                "tail_block_mm", "tension_limit_n", "overall_mm", "body_length_mm",
                "body_width_mm", "body_depth_mm", "scale_mm", "body_joint_fret", "relief_mm",
                "action_bass_mm", "action_treble_mm",
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.spec.key} revision {self.number}"

    def facts(self) -> hardware.SpecFacts:
        return hardware.SpecFacts(
            key=self.spec.key,
            revision=self.number,
            hand=hardware.Hand(self.hand),
            strings=self.strings,
            head=hardware.Head(self.head),
            tuner_family=hardware.TunerFamily(self.tuner_family),
            reversed_line=self.reversed_line,
            octave_on_bass_side=self.octave_on_bass_side,
            bushing=hardware.Bushing(self.bushing),
            bushing_hole_mm=self.bushing_hole_mm,
            post_hole_mm=self.post_hole_mm,
            peghead_mm=self.peghead_mm,
            wall_mm=self.wall_mm,
            pitch_mm=self.pitch_mm,
            spacing_mm=self.spacing_mm,
            metal=hardware.Metal(self.metal),
            nut_width_mm=self.nut_width_mm,
            nut_spread_mm=self.nut_spread_mm,
            saddle_slot_width_mm=self.saddle_slot_width_mm,
            saddle_slot_length_mm=self.saddle_slot_length_mm,
            pin_taper_deg=self.pin_taper_deg,
            pins_slotted=self.pins_slotted,
            tail=self.tail,
            tail_hole_mm=self.tail_hole_mm,
            tail_block_mm=self.tail_block_mm,
            guard=hardware.Hand(self.guard) if self.guard else None,
            electronics=self.electronics,
            string_material=self.string_material,
            tension_limit_n=self.tension_limit_n,
            overall_mm=self.overall_mm,
            body_length_mm=self.body_length_mm,
            body_width_mm=self.body_width_mm,
            body_depth_mm=self.body_depth_mm,
            scale_mm=self.scale_mm,
            body_joint_fret=self.body_joint_fret,
        )


class HardwareKit(models.Model):
    """The items one spec revision calls for."""

    revision = models.OneToOneField(SpecRevision, models.PROTECT, related_name="kit")

    def __str__(self) -> str:
        return f"Kit of {self.revision}"


class KitLine(models.Model):
    kit = models.ForeignKey(HardwareKit, models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField(default=1)
    used_at = models.ForeignKey(
        Operation, models.PROTECT, related_name="+", help_text="The operation that fits it."
    )
    in_tray = models.BooleanField(
        default=True, help_text="Off for strings, guard and case: they go to the bench by batch."
    )
    substitutes = models.ManyToManyField(
        Item, blank=True, related_name="+", help_text="Approved in place of this item."
    )

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kit", "item"], name="kit_item_once"),
            *positive("kitline", "quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item}"
