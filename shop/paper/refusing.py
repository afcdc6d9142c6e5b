"""Why nothing was printed, in a sentence that says what to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

PACKAGES: Final = "libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core"
INSTALL: Final = f"apt-get install {PACKAGES}"


class NotPrinted(Exception):
    """Nothing was printed. The message is for the person who asked."""


class AddressTooLong(NotPrinted):
    def __init__(self, address: str, most: int) -> None:
        super().__init__(
            f"The tag address {address} has {len(address)} characters, {most} is the most a tag "
            "holds. Give this machine a shorter name, or use port 80 or 443, which need not be "
            "written, and set HEELCAP_ADDRESS to it."
        )


class AddressUnfit(NotPrinted):
    def __init__(self, address: str, strange: str) -> None:
        super().__init__(
            f"The tag address {address} has “{strange}” in it, which a tag cannot hold. Use a "
            "name of letters, digits, hyphens and dots, and set HEELCAP_ADDRESS to it."
        )


class PressMissing(NotPrinted):
    def __init__(self, why: str) -> None:
        super().__init__(
            f"Printing is off: {why}. On the machine that runs Heelcap, install what is missing "
            f"({INSTALL}), then start Heelcap again."
        )


class UnknownForm(NotPrinted):
    def __init__(self, form: str, known: Sequence[str]) -> None:
        asked = f"There is no form “{form}”" if form else "No form was chosen"
        super().__init__(f"{asked}. Choose {', '.join(known[:-1])} or {known[-1]}.")


class Unknown(NotPrinted):
    """``what``: what the form is of."""

    def __init__(self, name: str, what: str) -> None:
        then = {
            "instrument": "Read the mark on the neck block, or choose from the list.",
        }.get(what, "Choose from the list.")
        super().__init__(f"There is no {what} {name} here. {then}")


class NotDrawn(NotPrinted):
    def __init__(self, form: str, name: str, why: str) -> None:
        super().__init__(
            f"The {form.lower()} of {name} could not be drawn: {why.rstrip('.')}. Print it again; "
            "if it fails again, the log of this machine says more."
        )


class NoneChosen(NotPrinted):
    def __init__(self) -> None:
        super().__init__("No instrument was chosen. Tick at least one.")


class NoLiveTag(NotPrinted):
    def __init__(self, serial: str, part: str) -> None:
        super().__init__(
            f"The {part} of {serial} has no tag in use. The lead gives it a new one, "
            "then print again."
        )


class NeckIsPaired(NotPrinted):
    def __init__(self, serial: str, neck: str) -> None:
        super().__init__(
            f"{neck} is one pair with {serial} and its tag has retired: the body's tag speaks for "
            "both. Print the body tag."
        )


class NoNeck(NotPrinted):
    def __init__(self, serial: str) -> None:
        super().__init__(
            f"{serial} has no neck: its pair was broken. The lead names the neck it gets, then "
            "print again."
        )
