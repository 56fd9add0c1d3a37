"""Equations as declared, one line of text, set as mathematics (MathML) that every browser draws by itself.

A quotient takes what stands before its stroke, back to the last point or sum, as numerator and the one factor after it
as denominator, which is how the declarations are written.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from markupsafe import Markup, escape

_RAISED = dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺ⁿ", "0123456789−+n", strict=True))
_LOWERED = dict(zip("₀₁₂₃₄₅₆₇₈₉", "0123456789", strict=True))
_TOKEN = re.compile(
    rf"""(?P<number>\d+(?:\.\d+)?(?:e[+-]?\d+)?|½)
    |(?P<raised>[{"".join(_RAISED)}]+)
    |(?P<lowered>[{"".join(_LOWERED)}]+(?:\.[{"".join(_LOWERED)}]+)*)
    |(?P<word>[^\W\d_{"".join(_RAISED)}{"".join(_LOWERED)}°Σ√∫½](?:[^\W\d_{"".join(_RAISED)}{"".join(_LOWERED)}½]
        |[°′″'*\u0304]|-(?=[a-z]))*|°[A-Z]?|%)
    |(?P<gap>\s+)
    |(?P<mark>\.\.\.|[=+\-−·/^_(),\[\]√Σ∫<>≤≥…;:])""",
    re.VERBOSE,
)
_CLOSING = {"(": ")", "[": "]"}
_ROOM = '<mspace width="0.2em"></mspace>'
_FUNCTIONS = {"exp", "log", "ln", "tanh", "ds"}


class CannotTypeset(ValueError):
    """A text that does not read as an equation."""


@dataclass(frozen=True)
class _Piece:
    """A token, and whether a gap stands before it."""

    kind: str
    text: str
    apart: bool


@dataclass(frozen=True)
class _Set:
    """Something set: its MathML, and that without its brackets where brackets are all around it."""

    markup: str
    bare: str | None = None

    @property
    def inside(self) -> str:
        """Without brackets that a fraction or a root makes needless."""
        return self.markup if self.bare is None else self.bare


def typeset(equation: str) -> Markup:
    """The equation as MathML, clause by clause; a clause of words alone stays words.

    A text that cannot be read as mathematics is given as it stands.
    """
    try:
        clauses = [_clause(text, number) for number, text in enumerate(_clauses(equation))]
    except CannotTypeset:
        return Markup('<span class="plain">{}</span>').format(equation)
    between = '<mtext>,&#160;&#160;</mtext><mspace width="0.6em"></mspace>'
    inner = between.join(clauses)
    return Markup(f'<math display="block" alttext="{escape(equation)}"><mrow>{inner}</mrow></math>')  # noqa: S704 - escaped


def _clauses(equation: str) -> list[str]:
    """Parted at commas, semicolons and colons outside brackets."""
    found, depth, start = [], 0, 0
    for place, sign in enumerate(equation):
        depth += (sign in "([") - (sign in ")]")
        if depth == 0 and sign in ",;:":
            found.append(equation[start:place].strip())
            start = place + 1
    return [each for each in [*found, equation[start:].strip()] if each]


def _clause(text: str, number: int) -> str:
    if number and "=" not in text:
        return f"<mtext>{escape(text)}</mtext>"
    reader = _Reader(_pieces(text))
    said = reader.relation()
    if reader.here is not None:
        raise CannotTypeset(f"'{reader.here.text}' is not expected in '{text}'")
    return said.markup


def _pieces(text: str) -> list[_Piece]:
    pieces: list[_Piece] = []
    place, apart = 0, False
    while place < len(text):
        found = _TOKEN.match(text, place)
        if not found or found.lastgroup is None:
            raise CannotTypeset(f"'{text[place]}' is not known")
        if found.lastgroup == "gap":
            apart = True
        else:
            pieces.append(_Piece(found.lastgroup, found[0], apart))
            apart = False
        place = found.end()
    return pieces


class _Reader:
    """Reads pieces from left to right, by how tightly they bind."""

    def __init__(self, pieces: list[_Piece]) -> None:
        self._pieces = pieces
        self._place = 0

    @property
    def here(self) -> _Piece | None:
        """The next piece, None at the end."""
        return self._pieces[self._place] if self._place < len(self._pieces) else None

    def _take(self, *marks: str) -> str | None:
        """The next piece if it is one of these marks."""
        if self.here is not None and self.here.kind == "mark" and self.here.text in marks:
            self._place += 1
            return self._pieces[self._place - 1].text
        return None

    def relation(self) -> _Set:
        """Sums joined by signs of relation."""
        said = self._sum().markup
        while mark := self._take("=", "<", ">", "≤", "≥"):
            said += f"<mo>{escape(mark)}</mo>{self._sum().markup}"
        return _Set(f"<mrow>{said}</mrow>")

    def _sum(self) -> _Set:
        said = "<mo>−</mo>" if self._take("-", "−") else ""
        said += self._product().markup
        while mark := self._take("+", "-", "−"):
            said += f"<mo>{mark.replace('-', '−')}</mo>"
            said += self._product().markup
        return _Set(f"<mrow>{said}</mrow>")

    def _product(self) -> _Set:
        """Factors joined by points, strokes or nothing."""
        done, row = "", [(False, self._factor())]
        while self.here is not None:
            if self._take("·"):
                done += f"{_row(row)}<mo>·</mo>"
                row = [(False, self._factor())]
            elif self._take("/"):
                over = row[0][1].inside if len(row) == 1 else _row(row)
                under = self._factor().inside
                row = [(False, _Set(f"<mfrac><mrow>{over}</mrow><mrow>{under}</mrow></mfrac>"))]
            elif self.here.kind == "mark" and self.here.text not in {"(", "[", "√", "Σ", "∫", "…", "..."}:
                break
            else:
                row.append((self.here.apart, self._factor()))
        return _Set(done + _row(row), row[0][1].bare if not done and len(row) == 1 else None)

    def _factor(self) -> _Set:
        """An atom with what is raised or lowered behind it, and a function's arguments, which follow without a gap."""
        symbol = self.here is not None and self.here.kind == "word"
        said = self._scripted(self._atom())
        if symbol and self.here is not None and not self.here.apart and (opening := self._take("(", "[")):
            arguments = self._scripted(self._bracketed(opening))
            return _Set(f"<mrow>{said.markup}{arguments.markup}</mrow>")
        return said

    def _scripted(self, atom: _Set) -> _Set:
        """An atom with what is raised or lowered behind it."""
        below, above = "", ""
        while self.here is not None and not self.here.apart:
            piece = self.here
            if piece.kind not in {"lowered", "raised"} and piece.text not in {"^", "_"}:
                break
            self._place += 1
            if piece.kind == "lowered":
                below += f"<mn>{''.join(_LOWERED.get(c, c) for c in piece.text)}</mn>"
            elif piece.kind == "raised":
                above += f"<mn>{''.join(_RAISED[c] for c in piece.text)}</mn>"
            elif piece.text == "^":
                above += self._power()
            else:
                below += self._atom().inside
        if not (below or above):
            return atom
        if below and above:
            return _Set(f"<msubsup>{_one(atom.markup)}{_one(below)}{_one(above)}</msubsup>")
        tag = "msub" if below else "msup"
        return _Set(f"<{tag}>{_one(atom.markup)}{_one(below or above)}</{tag}>")

    def _power(self) -> str:
        """What stands behind ^, with its sign."""
        sign = "<mo>−</mo>" if self._take("-", "−") else ""
        return sign + self._factor().inside

    def _atom(self) -> _Set:
        piece = self.here
        if piece is None:
            raise CannotTypeset("the equation ends too early")
        self._place += 1
        if piece.kind == "number":
            return _Set(_number(piece.text))
        if piece.kind == "word":
            return _Set(self._word(piece.text))
        if piece.text in _CLOSING:
            return self._bracketed(piece.text)
        if piece.text == "√":
            return _Set(f"<msqrt>{self._factor().inside}</msqrt>")
        if piece.text in {"Σ", "∫", "…", "..."}:
            return _Set(f"<mo>{piece.text.replace('...', '…')}</mo>")
        raise CannotTypeset(f"'{piece.text}' is not expected")

    def _bracketed(self, opening: str) -> _Set:
        """A sum in brackets, or several between commas as a function's arguments."""
        said = self.relation().markup
        bare: str | None = said
        while mark := self._take(",", ";"):
            said += f"<mo>{mark}</mo>{self.relation().markup}"
            bare = None
        closing = _CLOSING[opening]
        if not self._take(closing):
            raise CannotTypeset(f"'{closing}' is missing")
        return _Set(f"<mrow><mo>{opening}</mo>{said}<mo>{closing}</mo></mrow>", bare)

    def _word(self, first: str) -> str:
        """A symbol, with the words that say whose it is (C whole), a function's name, or words of the trade."""
        if _is_words(first):
            return f"<mtext>{escape(' '.join([first, *self._words()]))}</mtext>"
        following = self.here
        if following is not None and following.kind == "number" and not following.apart:
            self._place += 1
            return f"<msub><mi>{escape(first)}</mi><mn>{escape(following.text)}</mn></msub>"
        whose = " ".join(self._words())
        if not whose:
            return f"<mi>{escape(first)}</mi>"
        return f"<mrow><mi>{escape(first)}</mi>{_ROOM}<mtext>{escape(whose)}</mtext></mrow>"

    def _words(self) -> list[str]:
        """Words of plain language from here on."""
        words: list[str] = []
        while self.here is not None and self.here.kind == "word" and _is_words(self.here.text):
            words.append(self.here.text)
            self._place += 1
        return words


def _is_words(text: str) -> bool:
    """Whether a piece is plain language: small letters of an ordinary word, or per cent."""
    return text == "%" or (len(text) > 1 and text not in _FUNCTIONS and re.fullmatch(r"[a-z][a-z-]+", text) is not None)


def _number(text: str) -> str:
    digits, _, power = text.partition("e")
    if not power:
        return f"<mn>{digits}</mn>"
    ten = f"<msup><mn>10</mn><mn>{int(power)}</mn></msup>".replace("-", "−")
    return ten if digits == "1" else f"<mrow><mn>{digits}</mn><mo>·</mo>{ten}</mrow>"


def _row(factors: list[tuple[bool, _Set]]) -> str:
    """Factors side by side, with a little room where a gap parts two that are not brackets."""
    said = factors[0][1].markup
    for apart, factor in factors[1:]:
        said += (_ROOM if apart and factor.bare is None else "") + factor.markup
    return said


def _one(markup: str) -> str:
    return f"<mrow>{markup}</mrow>"
