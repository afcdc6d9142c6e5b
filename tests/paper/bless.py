"""Draw the pictures of all forms anew: see ``tests/paper/looks.py``."""

from __future__ import annotations

import os
import tempfile


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.settings"
        import django

        django.setup()
        from django.core.management import call_command

        from shop.floor.demo import loading
        from tests.floor.morning import NOW
        from tests.paper.looks import GOLDEN, GREYS, looks

        call_command("migrate", verbosity=0)
        loading.load(NOW)
        for old in GOLDEN.glob("*.png"):
            old.unlink()
        for name, picture in looks().items():
            picture.quantize(GREYS).save(GOLDEN / name, optimize=True)


if __name__ == "__main__":
    main()
