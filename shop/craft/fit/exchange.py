"""What to do with an article that does not belong on this guitar."""

from __future__ import annotations

from shop.craft.hardware import Article, Call


def named(article: Article) -> str:
    return f"{article.key} {article.name}"


def ordered(call: Call, article: Article) -> str:
    """The article this guitar is to get in the place of another: "T01 open-gear solo set"."""
    line = call.line_for(article)
    return f"{line.key} {line.name}" if line else f"no {article.family.words}"


def exchange(call: Call, article: Article) -> str:
    """The step that puts it right: back with this one, take the ordered one.

    If the kit itself asks for the article that does not fit, the list is wrong, and only
    the lead can say what belongs there.
    """
    if not call.kit:
        return f"Choose other {article.family.words} for {call.spec.name}."
    line = call.line_for(article)
    if line is not None and line.allows(article.key):
        return (
            f"Fit nothing. The list itself asks for {article.key}: the lead must look at the list."
        )
    return f"Give {article.key} back to the clerk and take {ordered(call, article)}."
