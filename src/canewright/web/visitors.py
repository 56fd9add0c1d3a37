"""Who asks for a page: the person of this machine, or a grower signed in with a key, who sees only his own.

A signed-in grower carries a cookie that names his access and the moment, sealed with a secret drawn when the server
starts; it is judged anew at every request, so that a withdrawn key opens nothing from that moment on.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import hmac
from collections.abc import Callable
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from canewright.store import Access, Store

COOKIE = "canewright_grower"
LASTS = dt.timedelta(hours=12)


@dataclass(frozen=True)
class Visitor:
    """Who asks. ``grower`` is set for a grower, who may see nothing but his own; None for the person of the office."""

    name: str
    grower: str | None = None

    def may_see(self, grower: str) -> bool:
        """Whether this visitor may see what belongs to a grower."""
        return self.grower is None or self.grower == grower


class Visitors:
    """Tells who asks. With ``growers_only`` nobody is let in without a grower's key."""

    def __init__(
        self, store: Store, now: Callable[[], dt.datetime], person: str, secret: bytes, *, growers_only: bool = False
    ) -> None:
        """``secret`` seals the cookies of this server until it stops."""
        self._store = store
        self._now = now
        self._person = person
        self._secret = secret
        self.growers_only = growers_only

    def of(self, request: Request) -> Visitor | None:
        """Who asks; None for somebody who must sign in first, or whose signing in no longer counts."""
        carried = request.cookies.get(COOKIE)
        if carried is None:
            return None if self.growers_only else Visitor(self._person)
        access = self._access(carried)
        return None if access is None else Visitor(access.given_to, access.grower)

    def _access(self, carried: str) -> Access | None:
        number, _, rest = carried.partition(".")
        begun, _, seal = rest.partition(".")
        if not self._secret or not (number.isdecimal() and begun.isdecimal()) or len(carried) > 200:
            return None
        if not hmac.compare_digest(seal.encode(), self._seal(number, begun).encode()):
            return None
        age = self._now().timestamp() - int(begun)
        if not 0 <= age <= LASTS.total_seconds():
            return None
        found = (each for each in self._store.accesses() if each.id == int(number) and each.withdrawn is None)
        return next(found, None)

    def _seal(self, number: str, begun: str) -> str:
        return hmac.new(self._secret, f"{number}.{begun}".encode(), hashlib.sha256).hexdigest()

    def sign_in(self, key: str, response: Response) -> bool:
        """Give the cookie to who knows a standing key; False, and nothing given, for any other key."""
        access = self._store.access_opened_by(key)
        if access is None:
            return False
        begun = str(int(self._now().timestamp()))
        value = f"{access.id}.{begun}.{self._seal(str(access.id), begun)}"
        response.set_cookie(
            COOKIE, value, max_age=int(LASTS.total_seconds()), httponly=True, samesite="strict", path="/"
        )
        return True

    @staticmethod
    def sign_out(response: Response) -> None:
        """Take the cookie back."""
        response.delete_cookie(COOKIE, path="/")
