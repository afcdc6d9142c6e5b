from django.apps import AppConfig
from django.core.checks import register


class PhoneConfig(AppConfig):
    name = "shop.phone"
    label = "phone"
    verbose_name = "Phone"

    def ready(self) -> None:
        from shop.phone import checks

        register(checks.authority_lasts)
