"""Every screen of the shop: who looks at it, and how it is come by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from tests.browser import ways


@dataclass(frozen=True)
class Screen:
    """One screen, looked at by one badge."""

    name: str
    badge: str  # "" for nobody
    way: ways.Way


SCREENS: Final = (
    Screen("sign-in", "", ways.to("/sign-in/")),
    Screen("PIN pad", "", ways.to("/sign-in/?badge=P-14")),
    Screen("PIN refused", "", ways.refused_pin),
    Screen("card refused", "", ways.refused_card),
    Screen("asked who", "", ways.to("/scan/")),
    Screen("scan", "P-14", ways.to("/scan/")),
    Screen("scan, last tags", "P-14", ways.scanned_before),
    Screen("scan, damaged code", "P-14", ways.to("/scan/?code=B7M49QZ")),
    Screen("scan, foreign code", "P-14", ways.to("/scan/?code=https://192.0.2.7/menu")),
    Screen("station", "P-14", ways.to("/station/")),
    Screen("instrument", "P-11", ways.to_body("Q-1043")),
    Screen("instrument, deviations", "P-11", ways.to_body("Q-1044")),
    Screen("instrument, held", "P-31", ways.to_body("Q-1038")),
    Screen("instrument, twelve strings", "P-11", ways.to_body("Q-1058")),
    Screen("instrument, six in line", "P-12", ways.to_body("Q-1049")),
    Screen("instrument, left-handed", "P-11", ways.to_body("Q-1055")),
    Screen("instrument, slotted head", "P-32", ways.to_body("Q-1040")),
    Screen("instrument, trainee", "P-25", ways.to_body("Q-1043")),
    Screen("instrument, neck wanted", "P-16", ways.to_body("Q-1061")),
    Screen("instrument, recorded", "P-14", ways.recorded),
    Screen("tray", "P-11", ways.to_body("Q-1043", "/tray/")),
    Screen("neck", "P-16", ways.to_body("Q-1061", "/neck/")),
    Screen("neck scanned", "P-16", ways.right_neck),
    Screen("neck stop", "P-16", ways.other_neck),
    Screen("stop", "P-11", ways.after_scan("Q-1055", "Q-1061", "is for Q-1061")),
    Screen("stop, several", "P-11", ways.after_scan("Q-1058", "Q-1058", "Stop")),
    Screen("checked", "P-16", ways.after_scan("Q-1037", "Q-1037", "Fits")),
    Screen("called", "P-16", ways.called),
    Screen("route", "P-11", ways.to_body("Q-1043", "/route/")),
    Screen("trays", "P-41", ways.to("/trays/")),
    Screen("bin", "P-41", ways.to("/trays/walk/")),
    Screen("bin, counted by wells", "P-41", ways.walk_of("Q-1063")),
    Screen("bins walked", "P-41", ways.walked),
    Screen("tray open", "P-41", ways.to_tray("Q-1064")),
    Screen("tray partial", "P-41", ways.picked_short),
    Screen("tray not to close", "P-41", ways.not_to_close),
    Screen("tray closed", "P-41", ways.to_tray("Q-1043")),
    Screen("line", "P-41", ways.line_of_a_tray),
    Screen("release", "P-01", ways.to("/release/")),
    Screen("release refused", "P-01", ways.release_refused),
    Screen("release unsaid", "P-01", ways.release_unsaid),
    Screen("released", "P-01", ways.to("/release/Q-1044/")),
    Screen("replace tag", "P-01", ways.to("/release/Q-1044/tag/")),
    Screen("arrivals", "P-01", ways.to("/arrivals/")),
    Screen("arrival misread", "P-01", ways.arrival_misread),
    Screen("floor", "P-01", ways.to("/floor/")),
    Screen("floor, few words", "P-01", ways.to("/floor/?words=TARN")),
    Screen("floor, nothing found", "P-01", ways.to("/floor/?words=glockenspiel")),
    Screen("calls", "P-01", ways.call_to_answer),
    Screen("no calls", "P-41", ways.calls_answered),
    Screen("badges", "P-01", ways.locked_badge),
    Screen("paper", "P-01", ways.to("/paper/")),
    Screen("paper refused", "P-01", ways.to("/paper/print/?form=traveller")),
    Screen("photo", "P-14", ways.to("/photo/")),
    Screen("photo not read", "P-14", ways.photo_of_wood),
    Screen("photo read", "P-11", ways.photo_of_a_tray),
    Screen("not yours", "P-14", ways.to("/badges/")),
    Screen("nothing here", "P-01", ways.nothing_found),
    Screen("unknown tag", "P-14", ways.to("/B7M49SX")),
    Screen("void tag", "P-01", ways.void_tag),
    Screen("page too old", "P-14", ways.page_too_old),
    Screen("locked pad", "P-14", ways.locked_pad),
    Screen("kept", "P-11", ways.kept),
)
