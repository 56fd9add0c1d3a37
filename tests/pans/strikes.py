"""Strikes that several tests boil, kept once boiled."""

from __future__ import annotations

from functools import cache

from canewright.pans.description import TEMPLATES, Described, read, template
from canewright.pans.strike import Boiled, boil


@cache
def boiled(name: str, **changes: float) -> Boiled:
    """A strike of the templates; settings by their full name with __ for the dot."""
    return boil(described(name, **changes), every=0.25)


def described(name: str, **changes: float) -> Described:
    """A strike of the templates, some settings changed."""
    return template(name).with_values({_full_name(key): value for key, value in changes.items()})


def reworded(name: str, *pairs: tuple[str, str]) -> Described:
    """A strike of the templates whose text is changed."""
    text = (TEMPLATES / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return read(text)


def _full_name(key: str) -> str:
    table, _, setting = key.partition("__")
    return f"{table.replace('feed_', 'feed ')}.{setting}"
