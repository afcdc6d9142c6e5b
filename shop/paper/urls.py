from django.urls import path

from shop.paper import views

app_name = "paper"
urlpatterns = [
    path("paper/", views.choose, name="choose"),
    path("paper/print/", views.print_out, name="print"),
]
