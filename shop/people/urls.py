from django.urls import path

from shop.people import views

app_name = "people"
urlpatterns = [
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-in/choose/", views.choose, name="choose"),
    path("sign-in/another/", views.another, name="another"),
    path("sign-in/card/", views.card, name="card"),
    path("sign-in/pad/", views.pad, name="pad"),
    path("beside/", views.beside, name="beside"),
    path("beside/card/", views.beside_card, name="beside-card"),
    path("beside/end/", views.beside_end, name="beside-end"),
    path("screens/", views.screens, name="screens"),
    path("sign-out/", views.sign_out, name="sign-out"),
]
