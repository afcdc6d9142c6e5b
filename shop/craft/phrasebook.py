"""Finished sentences said in another language.

The record is in English, for ever, so the trade's sentences are made in English, figures and
all. Whoever reads another language has them said in it where they are shown: a phrase book
knows each sentence by its fixed words, and says what stands between them in the same way, all
of it or nothing. What the shop named itself, and what somebody typed, stays as it was given.

>>> book = Phrasebook({
...     "Bushing {od} in hole {hole}: it will fall out.":
...         "Casquillo {od} en agujero {hole}: se caerá.",
...     "Ready {when}.": "Listo {when}.",
...     "tomorrow": "mañana",
... })
>>> book.say("Bushing 8.35 in hole 8.73: it will fall out. Ready tomorrow.")
'Casquillo 8.35 en agujero 8.73: se caerá. Listo mañana.'
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from shop.craft.words import THIN

PLACE: Final = re.compile(r"\{(\w+)\}")
"""A place in a phrase for what varies, by a name."""

CODE: Final = re.compile(r"[A-Z]+-?[0-9]+")
"""A badge, a serial, an operation: whoever or whatever a short sentence begins with."""

WORD: Final = re.compile(r"[^\W\d_]+")
# With fewer fixed letters than this a phrase is sure only where all between them is known.
SURE: Final = 9
KEPT: Final = 20_000  # sentences
SPOKEN: Final = re.compile(r"[a-z]{2}|\ba\b")  # more than a figure, a code and a unit
UNIT: Final = re.compile(r"(?<=\d)\W?(?:mm|min|kg|in)\b")

NAME: Final = re.compile(rf"(?:{CODE.pattern} )?(?!(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun)\b)[A-Z][a-z]")
"""What the shop called a station or an operation: in the middle of a sentence English writes
nothing else with a capital, but for days."""
MIDDLE: Final = re.compile(r"[\w,(] ?$")
CODED: Final = re.compile(rf"{CODE.pattern} [A-Z][a-z]")
"""A name with its code before it: known wherever it stands."""

TYPED: Final = {"note", "reason", "why", "words"}
"""Places that after a colon hold what somebody typed. So do sentences of the trade's own, but
not without a figure or a code."""

THIN_PLACE: Final = f"([{THIN} ])"

_SENTENCE_END = re.compile(r"(?<=[.?:;]) ")
_BESIDE = " · "  # between things that have nothing to do with each other
_AMONG = re.compile(r"(, | · | \+ |/)")


@dataclass(frozen=True, slots=True)
class _Phrase:
    """A sentence with places in it. ``names`` are theirs, in order; what stands in them is no
    more than a sentence, but for ``wide``."""

    form: re.Pattern[str]
    wide: re.Pattern[str]
    names: tuple[str, ...]
    fixed: str
    other: str

    @property
    def letters(self) -> int:
        return sum(map(len, WORD.findall(self.fixed)))

    @property
    def begins(self) -> bool:
        """Whether a place comes first, and a fixed word or a comma next."""
        return bool(re.match("\0 ?[^ \0]", self.fixed))

    @property
    def before(self) -> list[str]:
        """The fixed words before each place."""
        return self.fixed.split("\0")[:-1]

    def filled(self, values: Iterable[str]) -> str:
        """The other language's words with these values in their places."""
        said = dict(zip(self.names, values, strict=True))
        return PLACE.sub(lambda place: said.get(place[1], ""), self.other)


class Phrasebook:
    """What to say for each phrase. ``phrases``: English to the other language, a place for
    what varies written as ``{name}`` in both."""

    def __init__(self, phrases: Mapping[str, str]) -> None:
        self._whole = {
            one.strip(): other for one, other in phrases.items() if not PLACE.search(one)
        }
        made = [_phrase(one.strip(), other) for one, other in phrases.items() if PLACE.search(one)]
        made.sort(key=lambda one: -len(one.fixed))
        self._by_word = _by_rarest_word(made)
        self.say = lru_cache(KEPT)(self._say)

    def _say(self, words: str, *, whole: bool = False) -> str:
        """The same in the other language; what is not known stays as it is. ``whole``: all of it
        stays where one word of it is not known."""
        core = words.strip(" ")
        if core != words:
            before, after = words.split(core, 1) if core else (words, "")
            return f"{before}{self.say(core, whole=whole)}{after}" if core else words
        known = self._known(words, whole=whole)
        if known is not None:
            return known
        parts = _SENTENCE_END.split(words)
        if len(parts) > 1:
            said, all_known = self._by_sentence(parts, whole=whole)
            if all_known:
                return said
            return self._known(words, wide=True, whole=whole) or (words if whole else said)
        return self._by_list(words, whole=whole)

    def _known(self, words: str, *, wide: bool = False, whole: bool = False) -> str | None:
        """The whole of it as one phrase, its first letter large or small. ``wide``: what stands
        in a place may be several sentences; ``whole``: it has to be known."""
        if not WORD.search(words):
            return words
        return _in_either_case(words, lambda one: self._as_it_stands(one, wide=wide, whole=whole))

    def _as_it_stands(self, words: str, *, wide: bool, whole: bool) -> str | None:
        if (other := self._whole.get(words)) is not None:
            return other
        for phrase in self._candidates(words):
            found = (phrase.wide if wide else phrase.form).fullmatch(words)
            if found and self._sure(phrase, found.groups(), whole=whole):
                return phrase.filled(
                    map(self._in_place, phrase.names, phrase.before, found.groups())
                )
        return None

    def _in_place(self, name: str, before: str, value: str) -> str:
        """What stands in a place after these fixed words. Names stay as they were given. What
        somebody typed, no figure in it, is said only where it is a message as it stands, such as
        a button offers; all else where each word of it is known. Half of it is never said."""
        if _is_name(before, value):
            return value
        if name in TYPED and before.endswith(": ") and not re.search(r"\d", value):
            return _in_either_case(value, self._whole.get) or value
        return self.say(value, whole=True)

    def _sure(self, phrase: _Phrase, values: tuple[str, ...], *, whole: bool) -> bool:
        """Whether its fixed words are enough to know it by: many of them, or few after a badge
        or a serial, or few between what is known. After a colon anybody's words may follow.
        ``whole``: what stands between them has to be known however many they are."""
        begins = phrase.begins and CODE.fullmatch(values[0])
        enough = bool(phrase.letters >= SURE or begins)
        return (enough and not whole) or all(
            before.endswith(": ")
            or _is_name(before, value)
            or (enough and CODED.match(value))
            or self._plain(value, whole=whole)
            for before, value in zip(phrase.before, values, strict=True)
        )

    def _plain(self, value: str, *, whole: bool = False) -> bool:
        """Whether a value is known, or is no word: a figure, a code in capitals, or both with
        a unit. Of a list, whether each thing is."""
        parts = (one for one in _AMONG.split(value) if not _AMONG.fullmatch(one))
        return all(
            not SPOKEN.search(UNIT.sub("", one))
            or self._known(one.strip(), whole=whole) is not None
            for one in parts
        )

    def _candidates(self, words: str) -> Iterator[_Phrase]:
        found = {
            id(phrase): phrase
            for word in {"", *WORD.findall(words)}
            for phrase in self._by_word.get(word, ())
        }
        return iter(sorted(found.values(), key=lambda one: -len(one.fixed)))

    def _by_sentence(self, parts: list[str], *, whole: bool) -> tuple[str, bool]:
        """Sentence after sentence, as many at once as are known together; and whether all are, or
        have no words."""
        said, known, rest = [], True, parts
        while rest:
            for many in range(len(rest), 0, -1):
                other = self._known(" ".join(rest[:many]), whole=whole)
                if other is not None:
                    break
            else:
                known = known and self._plain(rest[0], whole=whole)
                other = self._by_list(rest[0], whole=whole)
            said.append(other)
            rest = rest[many:]
        return " ".join(said), known

    def _by_list(self, words: str, *, whole: bool) -> str:
        """Thing after thing of a list, where it is one."""
        if _BESIDE in words:
            return _BESIDE.join(self.say(one, whole=whole) for one in words.split(_BESIDE))
        parts = _AMONG.split(words)
        if len(parts) < 2 or not self._plain(words, whole=whole):
            return words  # a sentence that is not known, and has commas
        return "".join(
            one if _AMONG.fullmatch(one) else self.say(one, whole=whole) for one in parts
        )


def searched(words: str, say: Callable[[str], str]) -> str:
    """What a list is searched in, in small letters: these words as the record has them, and
    each of them as ``say`` tells it to the reader."""
    return " ".join([words, *map(say, words.split())]).lower()


def _in_either_case(words: str, find: Callable[[str], str | None]) -> str | None:
    """What is found for words, or for the same with their first letter small or large."""
    if (other := find(words)) is not None:
        return other
    small, large = words[:1].lower() + words[1:], words[:1].upper() + words[1:]
    if small != words and (other := find(small)):
        return other[0].upper() + other[1:]
    if large != words and (other := find(large)):
        return other[0].lower() + other[1:]
    return None


def _is_name(before: str, value: str) -> bool:
    """Whether what follows these fixed words is what somebody called something."""
    return bool(MIDDLE.search(before) and NAME.match(value))


def _phrase(one: str, other: str) -> _Phrase:
    pieces = PLACE.split(one)
    fixed, names = pieces[::2], pieces[1::2]
    return _Phrase(
        _form(fixed, names, r"((?:(?![.?] ).)*?)"),
        _form(fixed, names, "(.*?)"),
        tuple(names),
        "\0".join(fixed),
        other,
    )


def _form(fixed: list[str], names: list[str], value: str) -> re.Pattern[str]:
    """A phrase as what it is matched with. The thin space before a unit stands in a place of its
    own beside another: it is that space and nothing else."""
    places = [THIN_PLACE if name == "THIN" else value for name in names]
    after = [place + re.escape(piece) for place, piece in zip(places, fixed[1:], strict=True)]
    return re.compile("".join([re.escape(fixed[0]), *after]), re.DOTALL)


def _by_rarest_word(phrases: list[_Phrase]) -> dict[str, list[_Phrase]]:
    """Phrases by the word of theirs that the fewest of them have: a text that lacks it is none
    of them. Under "" those that have no whole word."""
    words = {id(one): _whole_words(one) for one in phrases}
    often = Counter(word for found in words.values() for word in found)
    by_word: dict[str, list[_Phrase]] = defaultdict(list)
    for one in phrases:
        by_word[min(sorted(words[id(one)]), key=often.__getitem__, default="")].append(one)
    return by_word


def _whole_words(phrase: _Phrase) -> set[str]:
    """Its fixed words, but for those that touch a place: there a value may go on the word."""
    text = f" {phrase.fixed} "
    return {
        found[0]
        for found in WORD.finditer(text)
        if "\0" not in (text[found.start() - 1], text[found.end()])
    }
