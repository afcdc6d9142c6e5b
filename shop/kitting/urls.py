from django.urls import path

from shop.kitting import views

app_name = "kitting"
urlpatterns = [
    path("trays/", views.trays, name="trays"),
    path("trays/list.csv", views.trays_csv, name="csv"),
    path("trays/walk/", views.walk, name="walk"),
    path("trays/pick/", views.pick, name="pick"),
    path("trays/<tag:code>/", views.tray, name="tray"),
    path("trays/<tag:code>/line/<int:line_id>/", views.line, name="line"),
    path("trays/<tag:code>/close/", views.close, name="close"),
]
