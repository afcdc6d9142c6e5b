from django.apps import AppConfig


class CatalogueConfig(AppConfig):
    name = "shop.catalogue"
    label = "catalogue"
    verbose_name = "Catalogue"
