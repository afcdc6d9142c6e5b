from django.apps import AppConfig
from django.core.checks import register


class PaperConfig(AppConfig):
    name = "shop.paper"
    label = "paper"
    verbose_name = "Paper"

    def ready(self) -> None:
        from shop.paper import checks

        register(checks.address_fits)
        register(checks.press_is_there)
