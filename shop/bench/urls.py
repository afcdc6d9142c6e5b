from django.urls import path, register_converter

from shop.bench import carried, defects, events, gauging, here, history, late, opened, posts, views


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
    path("<tag:code>/record/", views.record_step, name="record"),
    path("<tag:code>/call/", views.call, name="call"),
    path("<tag:code>/posts/", posts.posts, name="posts"),
    path("<tag:code>/route/", views.route, name="route"),
    path("<tag:code>/history/", history.history, name="history"),
    path("photo/<picture:sha256>/", posts.photo, name="photo"),
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
