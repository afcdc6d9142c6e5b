"""Badges in the office pages."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.conf import settings
from django.contrib import admin
from django.contrib.admin.views.decorators import staff_member_required
from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from shop.people import badges
from shop.people.models import Badge
from shop.people.pins import PIN_DIGITS

# One way to sign in: Django's own form would start a session that counts as idle at once.
admin.site.login = staff_member_required(  # type: ignore[method-assign]
    admin.site.login, login_url=settings.LOGIN_URL
)


class BadgeForm(forms.ModelForm):  # type: ignore[type-arg]
    pin = forms.CharField(
        label=_("New PIN"),
        required=False,
        min_length=PIN_DIGITS[0],
        max_length=PIN_DIGITS[1],
        widget=forms.PasswordInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
        help_text=_("4 to 8 digits. Leave empty to keep the PIN."),
    )

    class Meta:
        model = Badge
        fields = ("code", "home_station", "language", "units", "groups", "is_active")

    def clean_pin(self) -> str:
        pin: str = self.cleaned_data["pin"]
        if pin and not pin.isdigit():
            raise forms.ValidationError(_("A PIN is digits only: 4 to 8 of them."))
        if not pin and self.instance.pk is None:
            raise forms.ValidationError(_("A new badge needs a PIN of 4 to 8 digits."))
        return pin


@admin.register(Badge)
class BadgeAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    form = BadgeForm
    list_display = ("code", "card", "home_station", "roles", "is_active", "locked")
    list_filter = ("groups", "is_active", "locked")
    search_fields = ("code",)
    filter_horizontal = ("groups",)
    # Signed at the desk, by a trainer, and never written over.
    readonly_fields = ("signed_off",)

    @admin.display(description=_("Roles"))
    def roles(self, badge: Badge) -> str:
        return ", ".join(group.name for group in badge.groups.all())

    @admin.display(description=_("Signed off for stations"))
    def signed_off(self, badge: Badge) -> str:
        until = sorted(badge.trained.items())
        return ", ".join(f"{station} until {day}" for station, day in until) or "none"

    def get_queryset(self, request: HttpRequest) -> Any:
        return super().get_queryset(request).prefetch_related("groups")

    def save_model(self, request: HttpRequest, obj: Badge, form: Any, change: bool) -> None:
        roles = [group.name for group in form.cleaned_data["groups"]]
        pin = form.cleaned_data["pin"]
        if pin:
            obj.set_password(pin)
        obj.is_staff = "lead" in roles
        badges.give_card(obj)
        super().save_model(request, obj, form, change)

    # A badge stands on records for decades: it is switched off, never deleted.
    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    search_help_text: ClassVar[Any] = _("Badge number, as P-11")
