from django.apps import AppConfig
from django.db.models.signals import post_migrate


class FloorConfig(AppConfig):
    name = "shop.floor"
    label = "floor"
    verbose_name = "Floor"

    def ready(self) -> None:
        from shop.floor import guard

        # Set-up, not the main path: a table built anew by a migration has lost its guard.
        post_migrate.connect(guard.put_up, sender=self)
