from django.apps import AppConfig


class FloorConfig(AppConfig):
    name = "shop.floor"
    label = "floor"
    verbose_name = "Floor"
