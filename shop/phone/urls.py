from django.urls import path

from shop.phone import views

app_name = "phone"
urlpatterns = [
    path("photo/", views.photo, name="photo"),
]
