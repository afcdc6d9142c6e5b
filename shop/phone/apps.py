from django.apps import AppConfig


class PhoneConfig(AppConfig):
    name = "shop.phone"
    label = "phone"
    verbose_name = "Phone"
