"""What is measured at the bench, where on the guitar, and which values it can have."""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from shop.craft.gauging.quantity import Place, Quantity, every_string, only, where_so
from shop.craft.gauging.setting import SETTING
from shop.craft.hardware import Bushing, SpecFacts


def _hole(spec: SpecFacts) -> Decimal | None:
    return spec.post_hole_mm if spec.bushing is Bushing.NONE else spec.bushing_hole_mm


def _paired(spec: SpecFacts) -> bool:
    return spec.strings == 12


def _d(number: str) -> Decimal:
    return Decimal(number)


# Plausible ranges and doubts are common practice, no source.
QUANTITIES: Final[dict[str, Quantity]] = {
    one.key: one
    for one in (
        Quantity(
            key="peghead",
            words="Peghead thickness",
            unit="mm",
            low=_d("10"),
            high=_d("25"),
            doubt=_d("1"),
            expected=lambda spec: spec.peghead_mm,
            places=only(("tip", "near the tip"), ("middle", "middle"), ("nut", "near the nut")),
            how="Calliper square across the head, felt under the jaws.",
        ),
        Quantity(
            key="hole",
            words="Post hole",
            unit="mm",
            low=_d("5"),
            high=_d("13"),
            doubt=_d("0.35"),
            expected=_hole,
            places=every_string,
            how="Pin gauge or bore gauge from the face; clear the lacquer first.",
        ),
        Quantity(
            key="worm",
            words="Bench test of one left and one right machine",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Worm nearest the nut, button tightens counter-clockwise", "Otherwise"),
            places=lambda spec: (
                *((Place("L", "a left machine"),) if spec.left_posts else ()),
                *((Place("R", "a right machine"),) if spec.right_posts else ()),
            ),
            how="Hold it as it will sit. Turn the button as seen from its own end.",
        ),
        Quantity(
            key="turns",
            words="Turns a threaded bushing engages",
            unit="turns",
            low=_d("0"),
            high=_d("20"),
            places=where_so(
                lambda spec: spec.bushing is Bushing.THREAD, only(("least", "the least of all"))
            ),
            how="Count by hand, before the spanner.",
        ),
        Quantity(
            key="torque",
            words="Torque on the bushings",
            unit="N\u202fm",
            low=_d("0.1"),
            high=_d("10"),
            places=where_so(
                lambda spec: spec.bushing is Bushing.THREAD, only(("most", "the most of all"))
            ),
            how="As the torque driver is set.",
        ),
        Quantity(
            key="pilot",
            words="Pilot bit",
            unit="mm",
            low=_d("0.5"),
            high=_d("3"),
            places=only(("bit", "the bit")),
            how="Calliper on the bit in the chuck.",
        ),
        Quantity(
            key="collar",
            words="Stop collar",
            unit="mm",
            low=_d("1"),
            high=_d("30"),
            places=only(("depth", "bit beyond the collar")),
            how="From the face of the collar to the tip of the bit.",
        ),
        Quantity(
            key="tail_hole",
            words="Tail hole",
            unit="mm",
            low=_d("6"),
            high=_d("16"),
            doubt=_d("0.5"),
            expected=lambda spec: spec.tail_hole_mm,
            places=where_so(lambda spec: spec.tail != "none", only(("tail", "at the tail"))),
        ),
        Quantity(
            key="tail_block",
            words="Tail block",
            unit="mm",
            low=_d("8"),
            high=_d("80"),
            doubt=_d("5"),
            expected=lambda spec: spec.tail_block_mm,
            places=where_so(lambda spec: spec.tail != "none", only(("tail", "through the hole"))),
        ),
        Quantity(
            key="saddle_slot",
            words="Saddle slot width",
            unit="mm",
            low=_d("1.5"),
            high=_d("5"),
            doubt=_d("0.3"),
            expected=lambda spec: spec.saddle_slot_width_mm,
            places=only(("bass", "bass end"), ("middle", "middle"), ("treble", "treble end")),
        ),
        Quantity(
            key="nut_slot",
            words="Nut slot width",
            unit="mm",
            low=_d("0.15"),
            high=_d("2.5"),
            doubt=None,
            places=every_string,
            how="The widest feeler that passes, or the file's own gauge.",
        ),
        Quantity(
            key="proud",
            words="Saddle above the bridge",
            unit="mm",
            low=_d("0"),
            high=_d("12"),
            places=only(("bass", "bass side"), ("treble", "treble side")),
        ),
        Quantity(
            key="strap",
            words="Strap button to the nearest bolt or rod",
            unit="mm",
            low=_d("0"),
            high=_d("60"),
            places=where_so(lambda spec: spec.strap_button, only(("heel", "at the heel"))),
            how="Find the bolts with a magnet, measure to the nearest edge.",
        ),
        Quantity(
            key="octave",
            words="Octave string of each pair",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Bass side", "Treble side"),
            places=where_so(_paired, only(*((f"{one}", f"course {one}") for one in (6, 5, 4, 3)))),
        ),
        Quantity(
            key="insulated",
            words="Battery contacts insulated, or its switch off",
            unit="",
            low=_d("0"),
            high=_d("1"),
            answers=("Yes", "No"),
            places=where_so(lambda spec: bool(spec.electronics), only(("battery", "the battery"))),
        ),
        *SETTING,
    )
}
