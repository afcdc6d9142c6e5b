from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate


class StockConfig(AppConfig):
    name = "shop.stock"
    label = "stock"
    verbose_name = "Stock"

    def ready(self) -> None:
        from shop.stock import guard

        # Set-up, not the main path. A migration that builds a table anew would stumble over
        # triggers that name it, and the table has lost its own: down before, up again after.
        pre_migrate.connect(guard.stand_aside, sender=self)
        post_migrate.connect(guard.put_up, sender=self)
