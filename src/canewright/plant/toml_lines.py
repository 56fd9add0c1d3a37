"""A TOML text with the line on which each key stands, so that a message can point at it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field
from typing import Any

Path = tuple[str | int, ...]

_KEY = re.compile(r"""\s*("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*""")


@dataclass
class LinedToml:
    """The parsed data, and the line of each key path; an unknown path has the line of its nearest parent."""

    data: dict[str, Any]
    lines: dict[Path, int] = field(default_factory=dict)

    def line(self, *path: str | int) -> int:
        """The line of a key path, or of the nearest part of it that has one (1 if none)."""
        for cut in range(len(path), 0, -1):
            if path[:cut] in self.lines:
                return self.lines[path[:cut]]
        return 1


class TomlSyntax(ValueError):
    """The text is not TOML; the message names the line."""


def read_lined(text: str) -> LinedToml:
    """Parse TOML and find the line of every key.

    Raises TomlSyntax with the line and the reason.
    """
    try:
        data = tomllib.loads(text)
    except RecursionError as error:
        raise TomlSyntax("not a valid TOML file: tables or brackets nested too deeply") from error
    except ValueError as error:  # a syntax error, or a number with too many digits
        raise TomlSyntax(f"not a valid TOML file: {error}") from error
    return LinedToml(data, _lines(text))


def _lines(text: str) -> dict[Path, int]:
    found: dict[Path, int] = {}
    table: Path = ()
    counts: dict[Path, int] = {}
    skip = _Skipper()
    for number, line in enumerate(text.split("\n"), start=1):  # TOML ends a line with a line feed and nothing else
        if skip.inside:
            skip.feed(line)
            continue
        stripped = line.strip()
        if stripped.startswith("[["):
            *parents, last = _dotted(stripped[2:])[0]
            array = (*_resolved(tuple(parents), counts), last)
            counts[array] = counts.get(array, -1) + 1
            table = (*array, counts[array])
            for cut in range(1, len(table) + 1):
                found.setdefault(table[:cut], number)
        elif stripped.startswith("["):
            table = _resolved(_dotted(stripped[1:])[0], counts)
            for cut in range(1, len(table) + 1):
                found.setdefault(table[:cut], number)
        elif stripped and not stripped.startswith("#"):
            keys, rest = _dotted(line)
            for cut in range(1, len(keys) + 1):
                found.setdefault((*table, *keys[:cut]), number)
            skip.feed(rest)
    return found


def _resolved(keys: Path, counts: dict[Path, int]) -> Path:
    """A table header under an array of tables belongs to the array's latest element."""
    path: Path = ()
    for key in keys:
        path = (*path, key)
        if path in counts:
            path = (*path, counts[path])
    return path


def _dotted(text: str) -> tuple[Path, str]:
    keys: list[str] = []
    while match := _KEY.match(text):
        word = match.group(1)
        keys.append(_unquoted(word))
        text = text[match.end() :]
        if not text.startswith("."):
            break
        text = text[1:]
    return tuple(keys), text


def _unquoted(word: str) -> str:
    """A key as it reads: without quotes, its escapes replaced."""
    if word[0] == '"' and "\\" in word:
        return next(iter(tomllib.loads(f"{word} = 0")))
    return word[1:-1] if word[0] in "\"'" else word


class _Skipper:
    """Tells whether a value that began on an earlier line still goes on."""

    def __init__(self) -> None:
        self.quote = ""
        self.depth = 0

    @property
    def inside(self) -> bool:
        return bool(self.quote) or self.depth > 0

    def feed(self, line: str) -> None:
        i = 0
        while i < len(line):
            if self.quote:
                i = self._past_string(line, i)
            elif line.startswith(('"""', "'''"), i):
                self.quote, i = line[i : i + 3], i + 3
            elif line[i] in "\"'":
                self.quote, i = line[i], i + 1
            elif line[i] == "#":
                break
            else:
                self.depth += (line[i] in "[{") - (line[i] in "]}")
                i += 1
        if len(self.quote) == 1:  # a plain string ends with its line
            self.quote = ""

    def _past_string(self, line: str, i: int) -> int:
        if line[i] == "\\" and self.quote[0] == '"':
            return i + 2
        if line.startswith(self.quote, i):
            i += len(self.quote)
            self.quote = ""
            return i
        return i + 1
