from django.apps import AppConfig
from django.db.models.signals import post_migrate


class PeopleConfig(AppConfig):
    name = "shop.people"
    label = "people"
    verbose_name = "People"

    def ready(self) -> None:
        from django.apps import apps

        from shop.people.labels import in_every_language
        from shop.people.roles import furnish

        for room in apps.get_app_configs():
            if room.name.startswith("shop."):
                in_every_language(room.get_models())

        # Set-up, not the main path: groups need permissions, and Django makes those
        # only after the migrations have run.
        post_migrate.connect(furnish, sender=self)
