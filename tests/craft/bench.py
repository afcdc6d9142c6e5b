"""An invented workshop for the rules to be tried on: eight specs, their kits, their articles.

Every number here is made up, within what is common practice. Each test takes a guitar with
:func:`call`, a tray with :func:`tray`, and changes the one thing it is about.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from shop.craft.hardware import (
    Article,
    Battery,
    Bushing,
    Call,
    Case,
    Electronics,
    Guard,
    Hand,
    Head,
    Metal,
    Nut,
    Picked,
    Pins,
    Saddle,
    SpecFacts,
    StrapButton,
    Strings,
    Tail,
    TrayFacts,
    TunerFamily,
    TunerSet,
    Wanted,
)
from shop.craft.route import OperationFacts

RH, LH, ANY = Hand.RIGHT, Hand.LEFT, Hand.ANY
SERIAL = "Q-1043"
GRADUATED = ("34:1", "27:1", "21:1", "16:1", "19:1", "13:1")


def D(number: str | int) -> Decimal:  # noqa: N802 - reads as the type it makes
    return Decimal(number)


def _machines(key: str, name: str, metal: Metal, **facts: Any) -> TunerSet:
    """A sealed solo set of three and three, threaded, unless said otherwise."""
    usual: dict[str, Any] = {
        "carried": TunerFamily.SOLO,
        "left": 3,
        "right": 3,
        "hand": ANY,
        "bushing": Bushing.THREAD,
        "bushing_od_mm": D("9.80"),
        "post_mm": D("6.00"),
        "reach_mm": D("21.5"),
        "peghead_min_mm": D("12.0"),
        "peghead_max_mm": D("16.5"),
        "spacing_mm": None,
        "plate_width_mm": D("14.5"),
        "button_width_mm": D("18.0"),
        "screw_length_mm": D("9.5"),
        "ratios": ("16:1",),
    }
    return TunerSet(key=key, name=name, metal=metal, **(usual | facts))


OPEN = {
    "bushing": Bushing.PRESS,
    "bushing_od_mm": D("8.80"),
    "reach_mm": D("21.0"),
    "peghead_min_mm": D("13.0"),
    "peghead_max_mm": D("15.5"),
    "plate_width_mm": D("15.0"),
    "button_width_mm": D("15.5"),
    "ratios": ("18:1",),
}
PLATE = {
    "carried": TunerFamily.PLATE,
    "bushing": Bushing.PRESS,
    "bushing_od_mm": D("8.35"),
    "reach_mm": D("19.0"),
    "peghead_min_mm": D("12.5"),
    "peghead_max_mm": D("15.0"),
    "spacing_mm": D("35.0"),
    "plate_width_mm": D("12.0"),
    "button_width_mm": D("15.0"),
    "ratios": ("14:1",),
}
SLOT = {
    "carried": TunerFamily.SLOT,
    "bushing": Bushing.NONE,
    "bushing_od_mm": None,
    "reach_mm": None,
    "peghead_min_mm": None,
    "peghead_max_mm": None,
    "spacing_mm": D("35.0"),
    "plate_width_mm": D("12.0"),
    "button_width_mm": D("15.0"),
    "screw_length_mm": D("8.0"),
}
NARROW = OPEN | {
    "left": 6,
    "right": 6,
    "bushing_od_mm": D("8.35"),
    "reach_mm": D("20.0"),
    "peghead_min_mm": D("12.5"),
    "peghead_max_mm": D("15.0"),
    "plate_width_mm": D("14.0"),
    "button_width_mm": D("14.0"),
    "ratios": ("16:1",),
}


def _pins(
    key: str, name: str, count: int, taper_deg: int, collar_mm: str, slotted: bool = True
) -> Pins:
    return Pins(
        key=key,
        name=name,
        count=count,
        taper_deg=D(taper_deg),
        collar_mm=D(collar_mm),
        slotted=slotted,
    )


def _button(key: str, metal: Metal) -> StrapButton:
    return StrapButton(
        key=key,
        name="heel button",
        metal=metal,
        screw_mm=D("4.2"),
        screw_length_mm=D(25),
        pilot_mm=D("3.0"),
    )


def _case(key: str, overall: int, length: int, width: int, depth: int) -> Case:
    return Case(
        key=key,
        name="hard case",
        inside_overall_mm=D(overall),
        inside_body_mm=D(length),
        inside_width_mm=D(width),
        inside_depth_mm=D(depth),
    )


def _nut(
    key: str, name: str, width: str, spread: str | None, hand: Hand, strings: int = 6, **more: Any
) -> Nut:
    return Nut(
        key=key,
        name=name,
        width_mm=D(width),
        spread_mm=None if spread is None else D(spread),
        strings=strings,
        slotted=True,
        hand=hand,
        **more,
    )


def _saddle(
    key: str, name: str, thickness: str, length: int, hand: Hand, strings: int, height: int = 11
) -> Saddle:
    return Saddle(
        key=key,
        name=name,
        thickness_mm=D(thickness),
        length_mm=D(length),
        height_mm=D(height),
        strings=strings,
        hand=hand,
    )


def _tail(key: str, name: str, kind: str, hole: str) -> Tail:
    grip = (D(8), D(34)) if kind == "jack" else (None, None)
    return Tail(
        key=key, name=name, kind=kind, hole_mm=D(hole), grip_min_mm=grip[0], grip_max_mm=grip[1]
    )


def _strings(key: str, name: str, count: int, material: str, tension_n: int) -> Strings:
    return Strings(key=key, name=name, count=count, material=material, tension_n=tension_n)


ARTICLES: dict[str, Article] = {
    one.key: one
    for one in (
        _machines("T01", "open-gear solo set", Metal.NICKEL, **OPEN),
        _machines("T02", "open-gear solo set", Metal.GOLD, **OPEN),
        _machines(
            "T03",
            "open-gear solo set, small bushing",
            Metal.NICKEL,
            **OPEN | {"bushing_od_mm": D("8.35")},
        ),
        _machines(
            "T04",
            "open-gear solo set, thick post",
            Metal.NICKEL,
            **OPEN | {"post_mm": D("6.35"), "ratios": ("15:1",)},
        ),
        _machines("T05", "sealed solo set", Metal.CHROME),
        _machines("T06", "sealed solo set", Metal.BLACK),
        _machines(
            "T07",
            "six-in-line set, 6 L",
            Metal.CHROME,
            carried=TunerFamily.LINE,
            left=6,
            right=0,
            hand=RH,
        ),
        _machines(
            "T08",
            "six-in-line set, 6 R",
            Metal.CHROME,
            carried=TunerFamily.LINE,
            left=0,
            right=6,
            hand=LH,
        ),
        _machines("T09", "three-on-plate", Metal.NICKEL, **PLATE),
        _machines(
            "T10",
            "three-on-plate, wide",
            Metal.NICKEL,
            **PLATE | {"spacing_mm": D("35.7")},
        ),
        _machines("T11", "slotted-head plates", Metal.NICKEL, **SLOT),
        _machines(
            "T12", "slotted-head plates, wide rollers", Metal.GOLD, **SLOT | {"post_mm": D("10.00")}
        ),
        _machines("T13", "12-string solo set", Metal.NICKEL, **NARROW),
        _machines(
            "T14",
            "graduated set, right",
            Metal.BLACK,
            hand=RH,
            button_width_mm=D("15.5"),
            ratios=GRADUATED,
        ),
        _machines(
            "T15",
            "graduated set, left",
            Metal.BLACK,
            hand=LH,
            button_width_mm=D("15.5"),
            ratios=GRADUATED,
        ),
        _nut("N01", "bone nut", "44.5", "38.1", RH),
        _nut("N02", "bone nut, left", "44.5", "38.1", LH),
        _nut("N03", "bone nut, 6 pairs", "47.6", None, RH, 12, pair_gap_mm=D("2.0")),
        _nut("N04", "bone nut, flat", "52.0", None, RH),
        _nut("N05", "composite nut", "43.0", "36.6", RH),
        _saddle("S01", "bone saddle", "3.16", 72, RH, 6),
        _saddle("S02", "bone saddle, left", "3.16", 72, LH, 6),
        _saddle("S04", "bone saddle, 12 strings", "3.16", 80, RH, 12),
        _saddle("S05", "bone saddle, flat", "2.45", 80, ANY, 6, height=12),
        _pins("P01", "6 bone pins", 6, 3, "5.40"),
        _pins("P02", "6 plastic pins", 6, 5, "5.35"),
        _pins("P03", "12 bone pins", 12, 3, "5.40"),
        _tail("E01", "ebony end pin", "pin", "10.5"),
        _tail("E02", "end jack", "jack", "12.0"),
        _button("E04", Metal.NICKEL),
        _button("E05", Metal.BLACK),
        _button("E06", Metal.CHROME),
        _button("E07", Metal.GOLD),
        Guard(key="G01", name="teardrop guard", hand=RH),
        Guard(key="G02", name="teardrop guard, left", hand=LH),
        Electronics(key="X01", name="under-saddle element", element_mm=D("1.0"), battery="9V"),
        Battery(key="V01", name="9 V battery", kind="9V"),
        _strings("R01", "light 6", 6, "steel", 734),
        _strings("R02", "light 12", 12, "steel", 1120),
        _strings("R03", "nylon 6", 6, "nylon", 370),
        _case("C01", 1060, 512, 406, 130),
        _case("C02", 1030, 486, 366, 112),
        _case("C03", 1110, 512, 406, 130),
    )
}

TARN = SpecFacts(
    key="TARN",
    revision=2,
    hand=RH,
    strings=6,
    head=Head.SOLID,
    tuner_family=TunerFamily.SOLO,
    reversed_line=False,
    octave_on_bass_side=True,
    bushing=Bushing.PRESS,
    bushing_hole_mm=D("8.73"),
    post_hole_mm=D("6.4"),
    peghead_mm=D("14.5"),
    wall_mm=None,
    pitch_mm=D("38.0"),
    spacing_mm=None,
    metal=Metal.NICKEL,
    nut_width_mm=D("44.5"),
    nut_spread_mm=D("38.1"),
    saddle_slot_width_mm=D("3.20"),
    saddle_slot_length_mm=D(72),
    pin_taper_deg=D(3),
    pins_slotted=True,
    tail="pin",
    tail_hole_mm=D("10.5"),
    tail_block_mm=D(20),
    guard=RH,
    electronics="",
    string_material="steel",
    tension_limit_n=830,
    overall_mm=D(1045),
    body_length_mm=D(505),
    body_width_mm=D(400),
    body_depth_mm=D(124),
    scale_mm=D(645),
    body_joint_fret=14,
)
JACK = {"tail": "jack", "tail_hole_mm": D("12.0"), "electronics": "9V"}
THREAD = {"bushing": Bushing.THREAD, "bushing_hole_mm": D("10.0"), "post_hole_mm": D("10.0")}
SLOTTED = {
    "head": Head.SLOTTED,
    "tuner_family": TunerFamily.SLOT,
    "bushing": Bushing.NONE,
    "bushing_hole_mm": None,
    "pitch_mm": D("35.0"),
    "spacing_mm": D("35.0"),
    "guard": None,
    "body_joint_fret": 12,
}


def _spec(key: str, **facts: Any) -> SpecFacts:
    return replace(TARN, key=key, **facts)


SPECS: dict[str, SpecFacts] = {
    one.key: one
    for one in (
        TARN,
        _spec("HOLM", metal=Metal.BLACK, body_depth_mm=D(120), **JACK, **THREAD),
        _spec(
            "NESS",
            **SLOTTED,
            peghead_mm=D("18.0"),
            wall_mm=D("13.0"),
            tail_block_mm=D(18),
            tension_limit_n=760,
            overall_mm=D(1010),
            body_length_mm=D(480),
            body_width_mm=D(360),
            body_depth_mm=D(106),
            scale_mm=D(632),
        ),
        _spec(
            "FIRTH",
            strings=12,
            bushing_hole_mm=D("8.3"),
            peghead_mm=D("14.0"),
            pitch_mm=D("23.0"),
            nut_width_mm=D("47.6"),
            nut_spread_mm=None,
            saddle_slot_length_mm=D(80),
            tension_limit_n=1250,
            overall_mm=D(1095),
        ),
        _spec("WOLD", hand=LH, guard=LH, metal=Metal.BLACK, **JACK, **THREAD),
        _spec(
            "SKERRY",
            tuner_family=TunerFamily.LINE,
            peghead_mm=D("13.5"),
            pitch_mm=D("25.0"),
            metal=Metal.CHROME,
            nut_width_mm=D("43.0"),
            nut_spread_mm=D("36.6"),
            pin_taper_deg=D(5),
            guard=None,
            overall_mm=D(1050),
            body_depth_mm=D(118),
            **JACK,
            **THREAD,
        ),
        _spec(
            "FELL",
            tuner_family=TunerFamily.PLATE,
            bushing_hole_mm=D("8.3"),
            peghead_mm=D("13.5"),
            pitch_mm=D("35.0"),
            spacing_mm=D("35.0"),
            nut_width_mm=D("43.0"),
            nut_spread_mm=D("36.6"),
            pin_taper_deg=D(5),
        ),
        _spec(
            "VOE",
            **SLOTTED,
            post_hole_mm=D("10.4"),
            peghead_mm=D("20.0"),
            wall_mm=D("14.0"),
            metal=Metal.GOLD,
            nut_width_mm=D("52.0"),
            nut_spread_mm=None,
            saddle_slot_width_mm=D("2.50"),
            saddle_slot_length_mm=D(80),
            pin_taper_deg=None,
            pins_slotted=None,
            tail="none",
            tail_hole_mm=None,
            string_material="nylon",
            tension_limit_n=420,
            overall_mm=D(1005),
            body_length_mm=D(483),
            body_width_mm=D(363),
            body_depth_mm=D(104),
            scale_mm=D(650),
        ),
    )
}

KITS: dict[str, str] = {
    "TARN": "T01 N01 S01 P01 E01 E04 G01 R01 C01",
    "HOLM": "T06 N01 S01 P01 E02 E05 G01 X01 V01 R01 C01",
    "NESS": "T11 N01 S01 P01 E01 R01 C02",
    "FIRTH": "T13 N03 S04 P03 E01 E04 G01 R02 C03",
    "WOLD": "T15 N02 S02 P01 E02 E05 G02 X01 V01 R01 C01",
    "SKERRY": "T07 N05 S01 P02 E02 E06 X01 V01 R01 C01",
    "FELL": "T09 N05 S01 P02 E01 E04 G01 R01 C01",
    "VOE": "T12 N04 S05 R03 C02",
}


def wanted(key: str, **more: Any) -> Wanted:
    article = ARTICLES[key]
    return Wanted(key=key, name=article.name, family=article.family, **more)


def call(spec: str, **replaced: Wanted) -> Call:
    """A guitar with its spec's usual kit; ``T01=wanted("T02")`` orders T02 instead of T01."""
    kit = tuple(replaced.get(key, wanted(key)) for key in KITS[spec].split())
    return Call(serial=SERIAL, spec=SPECS[spec], kit=kit)


def tray(spec: str, *swaps: tuple[str, str], **facts: Any) -> TrayFacts:
    """A tray picked to a spec's usual kit; ``("T01", "T03")`` lays T03 where T01 belongs."""
    taken = dict(swaps)
    keys = [taken.get(key, key) for key in KITS[spec].split()]
    return replace(
        TrayFacts(
            code="T7K2M4C",
            serial=SERIAL,
            spec=spec,
            revision=SPECS[spec].revision,
            lines=tuple(Picked(article=ARTICLES[key]) for key in keys),
        ),
        **facts,
    )


def operation(code: str = "X10", **facts: Any) -> OperationFacts:
    """An operation that nothing stands round, unless said otherwise."""
    usual: dict[str, Any] = {
        "name": "Do the work", "station": "Any bench", "needs": "", "irreversible": False,
        "touch_min": Decimal(1),
    }  # fmt: skip
    return OperationFacts(code=code, **(usual | facts))
