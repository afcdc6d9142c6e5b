"""Static files as phones want them: hashed names to keep for a year, compressed once."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cached_property
from typing import Any, Final

import rjsmin  # type: ignore[import-untyped]
from django.conf import settings
from django.contrib.staticfiles.storage import staticfiles_storage
from django.core.files.base import ContentFile, File
from whitenoise.storage import CompressedManifestStaticFilesStorage

from shop.phone.shortening import shortened

# The tag reader: fetched at set-up, so it may be absent.
READER: Final = "vendor/zxing/es/reader/index.js"
FETCHED: Final = "vendor/"
# Scripts of packages come as their makers want them.
NOT_OURS: Final = ("vendor/", "admin/", "django_htmx/")
# The address of the reader's module and of its wasm part go to the page in attributes,
# so that no script has to know a hashed name.
WASM: Final = "vendor/zxing/reader/zxing_reader.wasm"


class PhoneFiles(CompressedManifestStaticFilesStorage):  # type: ignore[misc]
    """Static file storage that also renames what ES modules import.

    A file that set-up could not fetch has the address "" instead of raising
    ``ValueError``; any other file that is missing still raises.
    """

    support_js_module_import_aggregation = True

    def _save(self, name: str, content: File[Any]) -> str:
        """As gathered; of our own scripts without what only their readers need."""
        if name.endswith(".js") and not name.startswith(NOT_OURS):
            content.seek(0)
            script = content.read().decode()
            content = ContentFile(shortened(rjsmin.jsmin(script)).encode(), name=content.name)
        return str(super()._save(name, content))

    def url_converter(
        self,
        name: str,
        hashed_files: dict[str, str],
        template: str | None = None,
        *extra: Any,
    ) -> Callable[[re.Match[str]], str]:
        """As Django's, except for addresses that stand in comments of ``django_htmx``.

        Its JSDoc says ``import("../htmx")`` of a file that is not there.
        """
        convert = super().url_converter(name, hashed_files, template, *extra)

        def convert_or_leave(found: re.Match[str]) -> str:
            try:
                return str(convert(found))
            except ValueError:
                if name.startswith("django_htmx/"):
                    return found.group(0)
                raise

        return convert_or_leave

    def stored_name(self, name: str) -> str:
        try:
            return str(super().stored_name(name))
        except ValueError:
            if name.startswith(FETCHED):
                return ""
            raise

    def url(self, name: str | None, force: bool = False) -> str:
        """The address of a static file; "" for one that set-up could not fetch."""
        # Collected files do not change while a process runs, and a page names seven.
        known = self._addresses.get(name)
        if known is None or settings.DEBUG:
            known = self._addresses[name] = self._address(name, force)
        return known

    @cached_property
    def _addresses(self) -> dict[str | None, str]:
        return {}

    def _address(self, name: str | None, force: bool) -> str:
        if name and name.startswith(FETCHED) and not self.stored_name(name):
            return ""
        return str(super().url(name, force))


def reader_is_here() -> bool:
    """Whether the tag reader for browsers without their own was fetched."""
    return bool(staticfiles_storage.url(READER))
