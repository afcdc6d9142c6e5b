from django.urls import path, register_converter

from shop.bench import (
    carried,
    defects,
    events,
    formulas,
    gauging,
    here,
    history,
    in_hand,
    late,
    opened,
    pitch,
    posts,
    views,
)
from shop.bench.set_up import (
    bridge,
    buzz,
    fret_heights,
    frets,
    neck,
    nut,
    octave,
    saddle,
    strings,
    topics,
)


class TagCode:
    """Seven capitals or digits: a code of this shop. Everything else is in small letters."""

    regex = "[0-9A-Z]{7}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


class PictureHash(TagCode):
    """What the bytes of a picture hash to: the name it is kept under."""

    regex = "[0-9a-f]{64}"


register_converter(TagCode, "tag")
register_converter(PictureHash, "picture")

app_name = "bench"
urlpatterns = [
    path("", views.scan, name="start"),
    path("scan/", views.scan, name="scan"),
    path("station/", views.station, name="station"),
    path("AT/<str:station>", views.at, name="at"),
    path("here/", here.here, name="here"),
    path("here/list.csv", here.here_csv, name="here-csv"),
    path("<tag:code>", views.instrument, name="instrument"),
    path("<tag:code>/carried/", carried.carried, name="carried"),
    path("<tag:code>/tray/", views.tray, name="tray"),
    path("<tag:code>/neck/", views.neck, name="neck"),
    path("<tag:code>/gauge/", gauging.gauge, name="gauge"),
    path("<tag:code>/in-hand/", in_hand.take, name="in-hand"),
    path("<tag:code>/record/", views.record_step, name="record"),
    path("<tag:code>/call/", views.call, name="call"),
    path("<tag:code>/posts/", posts.posts, name="posts"),
    path("<tag:code>/route/", views.route, name="route"),
    path("<tag:code>/history/", history.history, name="history"),
    path("photo/<picture:sha256>/", posts.photo, name="photo"),
    path("photo/<picture:sha256>/small/", posts.photo, {"small": True}, name="photo-small"),
    path("pitch/", pitch.pitch, name="pitch"),
    path("formulas/", formulas.formulas, name="formulas"),
    path("formulas/<slug:key>/", formulas.formula, name="formula"),
    path("<tag:code>/set-up/", topics.topics, name="set-up"),
    path("<tag:code>/set-up/bridge/", bridge.bridge, name="set-up-bridge"),
    path("<tag:code>/set-up/frets/", frets.frets, name="set-up-frets"),
    path("<tag:code>/set-up/frets/heights/", fret_heights.heights, name="set-up-frets-heights"),
    path("<tag:code>/set-up/frets/file/", fret_heights.file, name="set-up-frets-file"),
    path("<tag:code>/set-up/frets/heights.csv", frets.frets_csv, name="set-up-frets-csv"),
    path("<tag:code>/set-up/neck/", neck.neck, name="set-up-neck"),
    path("<tag:code>/set-up/saddle/", saddle.saddle, name="set-up-saddle"),
    path("<tag:code>/set-up/nut/", nut.nut, name="set-up-nut"),
    path("<tag:code>/set-up/buzz/", buzz.buzz_map, name="set-up-buzz"),
    path("<tag:code>/set-up/strings/", strings.strings, name="set-up-strings"),
    path("<tag:code>/set-up/octave/", octave.octave, name="set-up-octave"),
    path("<tag:code>/start/", opened.start, name="start-step"),
    path("<tag:code>/join/", opened.join, name="join"),
    path("<tag:code>/take/", opened.take, name="take"),
    path("<tag:code>/hand/", opened.hand, name="hand"),
    path("<tag:code>/left/", opened.left, name="left"),
    path("<tag:code>/cut/", opened.cut, name="cut"),
    path("<tag:code>/late/", late.late, name="late"),
    path("<tag:code>/happened/", events.happened, name="happened"),
    path("<tag:code>/defect/", defects.defect, name="defect"),
    path("<tag:code>/case/", events.case, name="case"),
    path("<tag:code>/repair/", events.repair, name="repair"),
]
