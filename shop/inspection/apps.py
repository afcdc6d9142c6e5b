from django.apps import AppConfig


class InspectionConfig(AppConfig):
    name = "shop.inspection"
    label = "inspection"
    verbose_name = "Inspection"
