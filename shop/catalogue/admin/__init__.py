"""The catalogue in the office pages. Whatever changes here redraws what was drawn from it."""

from __future__ import annotations

from django.contrib import admin

from shop.catalogue.admin import hardware, kits, specs, work

__all__ = ["hardware", "kits", "specs", "work"]

admin.site.site_header = "Heelcap office"
admin.site.site_title = "Heelcap office"
admin.site.index_title = "What should be: specs, hardware, kits, work and people"
admin.site.site_url = "/floor/"
