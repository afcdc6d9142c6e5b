"""What a PIN is: digits only, so that it can be entered on the keypad with gloves on."""

from __future__ import annotations

from typing import Any, Final

from django.core.exceptions import ValidationError

PIN_DIGITS: Final = (4, 8)
WORDS: Final = f"A PIN is {PIN_DIGITS[0]} to {PIN_DIGITS[1]} digits."


def is_pin(text: str) -> bool:
    fewest, most = PIN_DIGITS
    return text.isascii() and text.isdecimal() and fewest <= len(text) <= most


class DigitsOnly:
    """The same rule wherever Django itself sets one, as on the office's own page for it."""

    def validate(self, password: str, user: Any = None) -> None:
        if not is_pin(password):
            raise ValidationError(WORDS)

    def get_help_text(self) -> str:
        return WORDS
