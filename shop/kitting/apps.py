from django.apps import AppConfig


class KittingConfig(AppConfig):
    name = "shop.kitting"
    label = "kitting"
    verbose_name = "Kitting"
