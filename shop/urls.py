"""Every address of the shop. Capitals at the root are a tag: short enough for its QR."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("", include("shop.people.urls")),
    path("", include("shop.bench.urls")),
    path("", include("shop.kitting.urls")),
    path("", include("shop.inspection.urls")),
    path("", include("shop.desk.urls")),
    path("", include("shop.paper.urls")),
    path("", include("shop.phone.urls")),
    path("office/", admin.site.urls),
]
