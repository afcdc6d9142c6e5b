from django.urls import path

from shop.desk import fitting, handing, limits, records, settling, substituting, training, views

app_name = "desk"
urlpatterns = [
    path("floor/", views.floor, name="floor"),
    path("floor/list.csv", views.floor_csv, name="floor-csv"),
    path("release/", views.release, name="release"),
    path("release/<str:serial>/", views.released, name="released"),
    path("release/<str:serial>/tag/", views.replace_tag, name="replace-tag"),
    path("release/<str:serial>/paper/", views.note_paper, name="note-paper"),
    path("record/", records.records, name="records"),
    path("record/<str:serial>/", records.one, name="record"),
    path("room/", views.room, name="room"),
    path("arrivals/", views.arrivals, name="arrivals"),
    path("calls/", views.calls, name="calls"),
    path("calls/<int:call_id>/answer/", views.answer, name="answer"),
    path("badges/", views.badge_list, name="badges"),
    path("badges/unlock/", views.unlock, name="unlock"),
    path("badges/training/", training.training, name="training"),
    path("badges/training/end/", training.end_training, name="end-training"),
    path("fit/", fitting.kit, name="fit"),
    path("fit/sets/", fitting.sets, name="fit-sets"),
    path("fit/sets/list.csv", fitting.sets_csv, name="fit-sets-csv"),
    path("fit/<str:spec>/shelf/", fitting.on_the_shelf, name="fit-shelf"),
    path("fit/<str:spec>/limits/", limits.limits, name="fit-limits"),
    path("fit/<str:spec>/limits/<str:name>/", limits.limit, name="fit-limit"),
    path("settle/", settling.settle, name="settle"),
    path("settle/<str:serial>/", settling.one, name="settle-one"),
    path("settle/<str:serial>/<str:name>/", settling.matter, name="matter"),
    path("substitute/", substituting.substitute, name="substitute"),
    path("handover/", handing.handover, name="handover"),
    path("handover/all/", handing.park_all, name="park-all"),
    path("handover/<str:serial>/", handing.hand, name="hand"),
    path("power/", handing.power, name="power"),
]
