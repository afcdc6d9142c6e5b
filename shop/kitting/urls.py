from django.urls import path

from shop.kitting import receiving, views

app_name = "kitting"
urlpatterns = [
    path("trays/", views.trays, name="trays"),
    path("trays/list.csv", views.trays_csv, name="csv"),
    path("trays/walk/", views.walk, name="walk"),
    path("trays/pick/", views.pick, name="pick"),
    path("trays/<tag:code>/", views.tray, name="tray"),
    path("trays/<tag:code>/line/<int:line_id>/", views.line, name="line"),
    path("trays/<tag:code>/close/", views.close, name="close"),
    path("lots/", receiving.lots, name="lots"),
    path("lots/list.csv", receiving.lots_csv, name="lots-csv"),
    path("lots/<int:lot_id>/", receiving.lot, name="lot"),
    path("lots/<int:lot_id>/hold/", receiving.hold, name="hold"),
    path("lots/<int:lot_id>/free/", receiving.free, name="free"),
    path("lots/<int:lot_id>/best-before/", receiving.best_before, name="best-before"),
]
