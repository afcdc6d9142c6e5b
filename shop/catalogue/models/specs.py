"""Specs in revisions, and the kit each revision calls for."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import Q

from shop.catalogue.models.fields import BUSHINGS, CARRIED, HANDS, METALS, mm, positive, some_mm
from shop.catalogue.models.items import Item
from shop.catalogue.models.work import Operation, Route
from shop.craft import hardware


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
