from django.urls import path

from shop.phone import cart, installed, views, waiting, who

app_name = "phone"
urlpatterns = [
    path("photo/", views.photo, name="photo"),
    path("who/", who.who, name="who"),
    path("waiting/", waiting.waiting, name="waiting"),
    path("cart/", cart.cart, name="cart"),
    path("cart/look/", cart.look, name="cart-look"),
    path("manifest.webmanifest", installed.manifest, name="manifest"),
    path("sw.js", installed.worker, name="worker"),
    path("aside/", installed.aside, name="aside"),
]
