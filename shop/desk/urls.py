from django.urls import path

from shop.desk import views

app_name = "desk"
urlpatterns = [
    path("floor/", views.floor, name="floor"),
    path("floor/list.csv", views.floor_csv, name="floor-csv"),
    path("release/", views.release, name="release"),
    path("release/<str:serial>/", views.released, name="released"),
    path("release/<str:serial>/tag/", views.replace_tag, name="replace-tag"),
    path("arrivals/", views.arrivals, name="arrivals"),
    path("calls/", views.calls, name="calls"),
    path("calls/<int:call_id>/answer/", views.answer, name="answer"),
    path("badges/", views.badge_list, name="badges"),
    path("badges/unlock/", views.unlock, name="unlock"),
]
