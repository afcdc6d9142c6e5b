"""Hardware: every article by its key, and each family with its dimensions."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from shop.catalogue.models.fields import (
    BUSHINGS,
    CARRIED,
    HANDS,
    METALS,
    mm,
    positive,
    some_mm,
    tolerances,
    tolerances_are_of,
    tolerances_of,
)
from shop.craft import hardware
from shop.craft.head.stringing import PAIRED, WOUND_PAIRS


class Item(models.Model):
    """A hardware article. Each family below adds its dimensions."""

    key = models.CharField(max_length=12, help_text="Short name on bin and label: T01.")
    family = models.CharField(
        max_length=12, choices=[(one.value, one.words) for one in hardware.Family], editable=False
    )
    name = models.CharField(max_length=80)
    metal = models.CharField(max_length=8, blank=True, choices=METALS, help_text="What shows.")
    tolerances = tolerances()
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

    def clean(self) -> None:
        tolerances_are_of(self, self.tolerances)

    def facts(self) -> hardware.Article:
        """This article with its dimensions, as craft knows it."""
        part: Item = getattr(self, CHILD_OF[self.family])
        return part.facts()

    def _shared(self) -> dict[str, Any]:
        return {
            "key": self.key,
            "name": self.name,
            "metal": hardware.Metal(self.metal) if self.metal else None,
            "tolerances": tolerances_of(self.tolerances),
        }


def are_gauges(text: str) -> None:
    """Raises ``ValidationError`` unless :func:`string_gauges` reads it."""
    string_gauges(text)


def string_gauges(text: str) -> tuple[tuple[str, Decimal], ...]:
    """``1:0.30 2:0.41`` as pairs of string and diameter.

    Raises ``ValidationError`` where a pair is not a string, a colon and a number above zero.
    """
    pairs = []
    for word in text.split():
        string, _, diameter = word.partition(":")
        try:
            pairs.append((string, Decimal(diameter)))
        except InvalidOperation:
            raise ValidationError(f"{word}: write string, colon, diameter in mm: 1:0.30") from None
        if not string or not pairs[-1][1].is_finite() or pairs[-1][1] <= 0:
            raise ValidationError(f"{word}: write string, colon, diameter in mm: 1:0.30")
    return tuple(pairs)


def strings_of(count: int) -> list[str]:
    """The strings of a set by name, thinnest first; twelve are six pairs, the four wound
    ones each with an octave string."""
    if count != PAIRED:
        return [str(one) for one in range(1, count + 1)]
    return [
        name
        for one in range(1, PAIRED // 2 + 1)
        for name in (f"{one}", f"{one}o" if one in WOUND_PAIRS else f"{one}'")
    ]


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
    screw_mm = mm(default=Decimal("2.2"), help_text="Diameter of the wood screws.")
    staggered = models.BooleanField(default=False, help_text="Post heights fall toward the tip.")
    worm = models.CharField(
        max_length=3,
        choices=[("nut", "nearest the nut"), ("tip", "nearest the tip")],
        default="nut",
        help_text="Where the worm lies when the machine is on its own side.",
    )
    worm_right_hand = models.BooleanField(default=True)

    class Meta:
        verbose_name = "tuning machine set"
        constraints: ClassVar = [
            *positive(
                "tuners", "bushing_od_mm", "post_mm", "reach_mm", "peghead_min_mm",
                "peghead_max_mm", "spacing_mm", "plate_width_mm", "button_width_mm",
                "screw_length_mm", "screw_mm",
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
            screw_mm=self.screw_mm,
            staggered=self.staggered,
            worm=hardware.Worm(self.worm),
            worm_right_hand=self.worm_right_hand,
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
    at_scale_mm = some_mm(help_text="The scale that tension was computed for.")
    gauges = models.CharField(
        max_length=120,
        blank=True,
        validators=[are_gauges],
        help_text="Diameters in mm by string: 1:0.30 2:0.41 3:0.61",
    )

    class Meta:
        verbose_name = "string set"
        constraints: ClassVar = positive("strings", "count", "tension_n", "at_scale_mm")

    def clean(self) -> None:
        """Each string of the set has one gauge, or none is given."""
        super().clean()
        try:
            named = [string for string, _ in string_gauges(self.gauges)]
        except ValidationError:
            return  # the field says so itself
        strings = strings_of(self.count or 0)
        if named and sorted(named) != sorted(strings):
            asked = " ".join(strings)
            raise ValidationError({"gauges": f"Give one for each of the strings {asked}."})

    def facts(self) -> hardware.Strings:
        return hardware.Strings(
            **self._shared(),
            count=self.count,
            material=self.material,
            tension_n=self.tension_n,
            at_scale_mm=self.at_scale_mm,
            gauges=string_gauges(self.gauges),
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
