"""Specs in revisions, and the kit each revision calls for."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, ClassVar, Final

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q

from shop.catalogue.models.fields import (
    BUSHINGS,
    CARRIED,
    HANDS,
    METALS,
    from_zero_mm,
    mm,
    not_negative,
    positive,
    some_mm,
    tolerances,
    tolerances_are_of,
    tolerances_of,
)
from shop.catalogue.models.items import Item
from shop.catalogue.models.work import Operation, Route
from shop.craft import hardware
from shop.craft.route import HOLD_H
from shop.craft.set_up.aims import kind_by, relief_range
from shop.craft.set_up.frets.reading import MOST_FRETS

USUAL: Final = "Empty: what is usual for its kind."
# What a set-up aims at and a spec may leave open, each under the name it has in the facts.
AIMED: Final = (
    "relief_least_mm", "relief_most_mm", "frets", "fret_height_mm", "fall_off_mm",
    "compensation_mm", "slant_mm", "bridge_height_mm", "board_mm",
)  # fmt: skip
WOODEN: Final = ("top_wood", "back_wood", "board_wood")
SHORT_HOLD: Final = f"The hold is {HOLD_H} h at least. Give {HOLD_H} or more."


class Spec(models.Model):
    """A model of guitar. Its build facts stand in its revisions."""

    key = models.CharField(max_length=16, help_text="As printed on tags: TARN.")

    class Meta:
        ordering: ClassVar = ["key"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["key"], name="spec_key_once")]

    def __str__(self) -> str:
        return self.key


class Wood(models.Model):
    """A wood as the papers name it. Law changes: what needs a permit is checked before use."""

    name = models.CharField(max_length=40)
    botanical = models.CharField(max_length=60)
    permit = models.BooleanField(
        default=False, help_text="Needs a permit even in a finished instrument."
    )

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["botanical"], name="wood_botanical_once")
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.botanical})"

    def facts(self) -> hardware.Wood:
        return hardware.Wood(self.name, self.botanical, self.permit)


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
    coat = models.CharField(
        max_length=9,
        choices=[("lacquer", "lacquer"), ("polyester", "polyester"), ("other", "other")],
        default="other",
        help_text="What the finish is made of: how long it needs to harden.",
    )
    tolerances = tolerances()
    woods = models.ManyToManyField(Wood, blank=True, related_name="+")
    relief_mm = mm()
    action_bass_mm = mm(help_text="String height over fret 12, thickest string.")
    action_treble_mm = mm()
    # Left empty: what is usual for this kind of guitar, by ``craft.set_up.aims``.
    relief_least_mm = from_zero_mm(help_text=f"Least relief. {USUAL}")
    relief_most_mm = some_mm(help_text=f"Most relief. {USUAL}")
    frets = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(12)], help_text=f"How many. {USUAL}"
    )
    fret_height_mm = some_mm(help_text=f"Of new frets over the board. {USUAL}")
    fall_off_mm = from_zero_mm(
        help_text=f"How far the last fret falls below the body joint. {USUAL}"
    )
    compensation_mm = from_zero_mm(help_text=f"Middle of the saddle beyond the scale. {USUAL}")
    slant_mm = from_zero_mm(
        help_text=f"Bass end of the saddle further than its treble end. {USUAL}"
    )
    bridge_height_mm = some_mm(help_text=f"Bridge over the top. {USUAL}")
    board_mm = some_mm(help_text=f"Fingerboard at the body joint, without frets. {USUAL}")
    top_wood = models.CharField(max_length=60, blank=True, help_text="Botanical name.")
    back_wood = models.CharField(max_length=60, blank=True, help_text="Botanical name.")
    board_wood = models.CharField(
        max_length=60, blank=True, help_text="Of the fingerboard: botanical name."
    )
    hold_h = models.PositiveSmallIntegerField(
        default=HOLD_H,
        validators=[MinValueValidator(HOLD_H, SHORT_HOLD)],
        help_text=f"Hours in the case before it is inspected again: {HOLD_H} or more.",
    )

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
            models.CheckConstraint(
                condition=Q(hold_h__gte=HOLD_H),
                name="revision_hold_is_long_enough",
                violation_error_message=SHORT_HOLD,
            ),
            *positive(
                "revision", "strings", "bushing_hole_mm", "post_hole_mm", "peghead_mm",
                "wall_mm", "pitch_mm", "spacing_mm", "nut_width_mm", "nut_spread_mm",
                "saddle_slot_width_mm", "saddle_slot_length_mm", "pin_taper_deg", "tail_hole_mm",
                "tail_block_mm", "tension_limit_n", "overall_mm", "body_length_mm",
                "body_width_mm", "body_depth_mm", "scale_mm", "body_joint_fret", "relief_mm",
                "action_bass_mm", "action_treble_mm", "relief_most_mm", "frets", "fret_height_mm",
                "bridge_height_mm", "board_mm",
            ),
            *not_negative(
                "revision", "relief_least_mm", "fall_off_mm", "compensation_mm", "slant_mm"
            ),
        ]  # fmt: skip

    def __str__(self) -> str:
        return f"{self.spec.key} revision {self.number}"

    def clean(self) -> None:
        tolerances_are_of(self, self.tolerances)
        wrong = {**self._relief_wrong(), **self._frets_wrong()}
        if wrong:
            raise ValidationError(wrong)

    def _relief_wrong(self) -> dict[str, str]:
        """Why the relief has no range to lie in: of what a set-up is judged by and what is left
        open counts as it is usual. What is no figure is told at its own field."""
        relief: Any = self.relief_mm  # what was typed, until it is read as a figure
        ends: tuple[Any, Any] = (self.relief_least_mm, self.relief_most_mm)
        read = all(isinstance(one, Decimal) for one in (relief, *ends) if one is not None)
        if relief is None or not read:
            return {}
        least, most = relief_range(kind_by(self.string_material, self.strings), relief, *ends)
        if least > most and ends[1] is not None:
            return {"relief_most_mm": f"Give {least} or more: the least relief."}
        if least > relief:
            return {"relief_least_mm": f"Give {relief} or less: the relief."}
        if most < relief:
            return {"relief_most_mm": f"Give {relief} or more: the relief."}
        if least == most:
            field = "relief_least_mm" if ends[1] is None else "relief_most_mm"
            return {field: f"Least and most relief are both {least}. Leave room between them."}
        return {}

    def _frets_wrong(self) -> dict[str, str]:
        """Why a board cannot have these frets."""
        frets: Any = self.frets  # what was typed, until it is read as a number
        joint: Any = self.body_joint_fret
        if not isinstance(joint, int):
            return {}
        if joint > MOST_FRETS:
            return {"body_joint_fret": f"Give {MOST_FRETS} or less: no board has more frets."}
        if not isinstance(frets, int) or joint <= frets <= MOST_FRETS:
            return {}
        return {"frets": f"Give {joint} to {MOST_FRETS}: up to the body at least."}

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
            relief_mm=self.relief_mm,
            action_bass_mm=self.action_bass_mm,
            action_treble_mm=self.action_treble_mm,
            **{name: getattr(self, name) for name in (*AIMED, *WOODEN)},
            coat=hardware.Coat(self.coat),
            woods=tuple(one.facts() for one in self.woods.all()),
            tolerances=tolerances_of(self.tolerances),
            limits=tuple(self._limits().items()),
        )

    def _limits(self) -> dict[str, hardware.SetLimit]:
        """The limits a lead set for this revision; of two with one name the later counts."""
        rows = sorted(self.limit_changes.all(), key=lambda row: row.pk)
        latest = {row.name: row for row in rows}
        return {
            name: hardware.SetLimit(row.value, row.by, row.on, row.why)
            for name, row in latest.items()
            if row.value is not None
        }


class LimitChange(models.Model):
    """A lead set a rule's limit for one revision, or gave it back its default (no value).

    Rows are added, never changed; the last one of a name counts.
    """

    revision = models.ForeignKey(SpecRevision, models.PROTECT, related_name="limit_changes")
    name = models.CharField(max_length=24, help_text="As R06.least.")
    value = models.DecimalField(max_digits=9, decimal_places=3, null=True)
    by = models.CharField(max_length=8, help_text="Badge.")
    on = models.DateField()
    why = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=~Q(why=""), name="limit_change_has_a_reason")
        ]

    def __str__(self) -> str:
        return f"{self.name} of {self.revision}"


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
    substitutes = models.ManyToManyField(Item, through="Substitute", blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kit", "item"], name="kit_item_once"),
            *positive("kitline", "quantity"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.item}"


class Substitute(models.Model):
    """An item approved in place of the one a kit line calls for: by whom, when and why."""

    line = models.ForeignKey(KitLine, models.CASCADE, related_name="approved")
    item = models.ForeignKey(Item, models.PROTECT, related_name="+")
    approved_by = models.CharField(max_length=40, help_text="Badge, or the buyer and the order.")
    on = models.DateField()
    why = models.CharField(max_length=200)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["line", "item"], name="substitute_once"),
            models.CheckConstraint(
                condition=~Q(approved_by="") & ~Q(why=""), name="substitute_says_who_and_why"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.item} for {self.line}"

    @property
    def words(self) -> str:
        """Who approved it, when and why, in one line."""
        return f"{self.approved_by}, {self.on.isoformat()}: {self.why}"
