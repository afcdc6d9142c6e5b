"""The pages of inspectors and repairers."""

from __future__ import annotations

from django.urls import URLPattern

app_name = "inspection"

urlpatterns: list[URLPattern] = []
