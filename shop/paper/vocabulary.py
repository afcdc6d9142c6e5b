"""The fixed words that forms print out of the rooms below, where nobody translates.

The craft has its words as plain values; a form puts them into the language in force as it
prints them. They are named here so that they are collected for who translates them.
"""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_noop as named

HANDS: Final = (
    named("RH"),
    named("LH"),
    named("any"),
    named("right-handed"),
    named("left-handed"),
    named("either hand"),
)

METALS: Final = (named("nickel"), named("chrome"), named("gold"), named("black"))

BUSHINGS: Final = (named("press-in"), named("threaded"), named("no"))

MACHINES: Final = (
    named("individual machines"),
    named("three-on-a-plate machines"),
    named("slotted-head plates"),
    named("six-in-line machines"),
)

FAMILIES: Final = (
    named("tuning machines"),
    named("nut"),
    named("saddle"),
    named("bridge pins"),
    named("end pin or jack"),
    named("strap button"),
    named("pickguard"),
    named("electronics"),
    named("battery"),
    named("strings"),
    named("case"),
)

SEVERITIES: Final = (named("stop"), named("warn"), named("note"))

SUBJECTS: Final = (
    named("body"),
    named("neck"),
    named("instrument"),
    named("badge"),
    named("bin"),
    named("lot"),
    named("station"),
    named("gauge"),
    named("slot"),
    named("manifest"),
)
"""What a tag hangs on, and what a form is of."""

TARGETS: Final = (
    named("relief"),
    named("action bass, fret 12"),
    named("action treble, fret 12"),
)

HEAD: Final = (
    named("FRONT"),
    named("BACK"),
    named("strings facing you"),
    named("machines facing you"),
    named("bass"),
    named("treble"),
    named("o octave · ' second"),
    named("posts fall toward the tip"),
    named("double frame: its mark"),
)
"""What stands on the drawing of a head."""

QUANTITIES: Final = (
    named("Peghead thickness"),
    named("Post hole"),
    named("Bench test of one left and one right machine"),
    named("Turns a threaded bushing engages"),
    named("Torque on the bushings"),
    named("Pilot bit"),
    named("Stop collar"),
    named("Tail hole"),
    named("Tail block"),
    named("Saddle slot width"),
    named("Nut slot width"),
    named("Saddle above the bridge"),
    named("Strap button to the nearest bolt or rod"),
    named("Octave string of each pair"),
    named("Battery contacts insulated, or its switch off"),
)
"""What is measured."""

PLACES: Final = (
    named("a left machine"),
    named("a right machine"),
    named("at the heel"),
    named("at the tail"),
    named("bass end"),
    named("bass side"),
    named("bit beyond the collar"),
    named("course 1"),
    named("course 2"),
    named("course 3"),
    named("course 4"),
    named("course 5"),
    named("course 6"),
    named("middle"),
    named("near the nut"),
    named("near the tip"),
    named("string 1"),
    named("string 1'"),
    named("string 2"),
    named("string 2'"),
    named("string 3"),
    named("string 3o"),
    named("string 4"),
    named("string 4o"),
    named("string 5"),
    named("string 5o"),
    named("string 6"),
    named("string 6o"),
    named("the battery"),
    named("the bit"),
    named("the least of all"),
    named("the most of all"),
    named("through the hole"),
    named("treble end"),
    named("treble side"),
)
"""Where it is measured."""

DEFECTS: Final = (
    named("chip"),
    named("crack"),
    named("check"),
    named("crazing"),
    named("craze at bushing"),
    named("sink"),
    named("orange peel"),
    named("pit"),
    named("run"),
    named("dust nib"),
    named("swirl"),
    named("scratch"),
    named("burn-through"),
    named("witness line"),
    named("haze"),
    named("blush"),
    named("fisheye"),
    named("print"),
    named("overspray"),
    named("drop-fill scar"),
    named("dent"),
    named("split"),
    named("tear-out"),
    named("chip-out"),
    named("bruise"),
    named("twist"),
    named("bow"),
    named("back-bow"),
    named("hump"),
    named("stain blotch"),
    named("mineral streak"),
    named("runout"),
    named("gap"),
    named("step"),
    named("starved"),
    named("squeeze-out"),
    named("lift"),
    named("creep"),
    named("loose brace"),
    named("high"),
    named("low"),
    named("sprung end"),
    named("loose"),
    named("sharp end"),
    named("flat crown"),
    named("tool mark"),
    named("sprout"),
    named("buzz"),
    named("back buzz"),
    named("fret-out"),
    named("dead note"),
    named("rattle"),
    named("wolf"),
    named("high action"),
    named("low action"),
    named("low slot"),
    named("bind at slot"),
    named("ping"),
    named("octave sharp"),
    named("octave flat"),
    named("wrong string"),
    named("wrong order"),
    named("wrong item"),
    named("wrong hand"),
    named("wrong position"),
    named("cocked"),
    named("stripped"),
    named("snapped"),
    named("tarnish"),
    named("mismatch"),
    named("missing"),
    named("dead string"),
    named("weak string"),
    named("hum"),
    named("crackle"),
    named("no output"),
    named("battery missing"),
    named("wrong serial"),
    named("wrong label"),
)
"""The words for what is wrong, as they are tapped at the bench."""

ROLES: Final = (
    named("operator"),
    named("kitting clerk"),
    named("inspector"),
    named("repairer"),
    named("lead"),
    named("trainee"),
)

FORMS: Final = (
    named("Traveller"),
    named("A5, both sides"),
    named("Body tag"),
    named("A7, both sides"),
    named("Neck tag"),
    named("A8, both sides"),
    named("Tray label"),
    named("A7"),
    named("Case hold card"),
    named("A6, bright, on the case handle"),
    named("Rework card"),
    named("A6, on the case or cart"),
    named("A4, for the carrier and the shop"),
    named("Nut strip"),
    named("A6, true size"),
    named("Box label"),
    named("A6, outside the carton"),
    named("Packing papers"),
    named("A4, folded to A5, in the case"),
    named("As-built record"),
    named("A4, once it is released"),
    named("Badge card"),
    named("bank card"),
    named("Bin label"),
    named("Lot label"),
    named("Gauge label"),
    named("Slot label"),
    named("Carrier list"),
    named("A8"),
    named("Station card"),
    named("A5"),
)
"""What the forms are called, and the paper they take."""

WORDS: Final = frozenset(
    (
        *HANDS,
        *METALS,
        *BUSHINGS,
        *MACHINES,
        *FAMILIES,
        *SEVERITIES,
        *SUBJECTS,
        *TARGETS,
        *HEAD,
        *QUANTITIES,
        *PLACES,
        *DEFECTS,
        *ROLES,
        *FORMS,
    )
)
