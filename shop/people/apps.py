from django.apps import AppConfig
from django.db.models.signals import post_migrate


class PeopleConfig(AppConfig):
    name = "shop.people"
    label = "people"
    verbose_name = "People"

    def ready(self) -> None:
        from shop.people.roles import furnish

        # Set-up, not the main path: groups need permissions, and Django makes those
        # only after the migrations have run.
        post_migrate.connect(furnish, sender=self)
