"""Why nothing was printed, in a sentence that says what to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from django.utils.translation import gettext as _

PACKAGES: Final = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core"
INSTALL: Final = f"apt-get install {PACKAGES}"


class NotPrinted(Exception):
    """Nothing was printed. The message is for the person who asked."""


class AddressTooLong(NotPrinted):
    def __init__(self, address: str, most: int) -> None:
        super().__init__(
            _(
                "The tag address %(address)s has %(count)s characters, %(most)s is the most a tag "
                "holds. Give this machine a shorter name, or use port 80 or 443, which need not be "
                "written, and set HEELCAP_ADDRESS to it."
            )
            % {"address": address, "count": len(address), "most": most}
        )


class AddressUnfit(NotPrinted):
    def __init__(self, address: str, strange: str) -> None:
        super().__init__(
            _(
                "The tag address %(address)s has “%(strange)s” in it, which a tag cannot hold. Use "
                "a name of letters, digits, hyphens and dots, and set HEELCAP_ADDRESS to it."
            )
            % {"address": address, "strange": strange}
        )


class PressMissing(NotPrinted):
    def __init__(self, why: str) -> None:
        super().__init__(
            _(
                "Printing is off: %(why)s. On the machine that runs Heelcap, install what is "
                "missing (%(install)s), then start Heelcap again."
            )
            % {"why": why, "install": INSTALL}
        )


class UnknownForm(NotPrinted):
    def __init__(self, form: str, known: Sequence[str]) -> None:
        asked = _("There is no form “%(form)s”.") % {"form": form}
        *most, last = known
        choose = _("Choose %(most)s or %(last)s.") % {"most": ", ".join(most), "last": last}
        super().__init__(f"{asked if form else _('No form was chosen.')} {choose}")


class Unknown(NotPrinted):
    """``what``: what the form is of."""

    def __init__(self, name: str, what: str) -> None:
        there = _("There is no %(what)s %(name)s here.") % {"what": _(what), "name": name}
        then = _("Choose from the list.")
        if what == "instrument":
            then = _("Read the mark on the neck block, or choose from the list.")
        super().__init__(f"{there} {then}")


class NotDrawn(NotPrinted):
    def __init__(self, form: str, name: str, why: str) -> None:
        super().__init__(
            _(
                "The %(form)s of %(name)s could not be drawn: %(why)s. Print it again; if it fails "
                "again, the log of this machine says more."
            )
            % {"form": _(form).lower(), "name": name, "why": why.rstrip(".")}
        )


class NoneChosen(NotPrinted):
    def __init__(self) -> None:
        super().__init__(_("Nothing was chosen. Tick at least one."))


class NoLiveTag(NotPrinted):
    def __init__(self, serial: str, part: str) -> None:
        super().__init__(
            _(
                "The %(part)s of %(serial)s has no tag in use. The lead gives it a new one, then "
                "print again."
            )
            % {"part": _(part), "serial": serial}
        )


class NeckIsPaired(NotPrinted):
    def __init__(self, serial: str, neck: str) -> None:
        super().__init__(
            _(
                "%(neck)s is one pair with %(serial)s and its tag has retired: the body's tag "
                "speaks for both. Print the body tag."
            )
            % {"neck": neck, "serial": serial}
        )


class NoNeck(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            _(
                "%(serial)s has no neck: its pair was broken. The lead names the neck it gets, "
                "then print again."
            )
            % {"serial": serial}
        )
