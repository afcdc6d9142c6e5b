from django.apps import AppConfig
from django.db.models.signals import post_migrate


class StockConfig(AppConfig):
    name = "shop.stock"
    label = "stock"
    verbose_name = "Stock"

    def ready(self) -> None:
        from shop.stock import guard

        # Set-up, not the main path: a table built anew by a migration has lost its guard.
        post_migrate.connect(guard.put_up, sender=self)
