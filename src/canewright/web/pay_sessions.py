"""Who is signed in: a random token in a cookie of this server, kept in memory, forgotten after twelve hours."""

from __future__ import annotations

import datetime as dt
import hmac
import threading
from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import Response

from canewright.accounts.pay_people import Signed

COOKIE = "canewright_signed_in"
LASTS = dt.timedelta(hours=12)
OCTETS = 32
MOST = 1000


class Sessions:
    """The persons signed in on this server."""

    def __init__(self, now: Callable[[], dt.datetime], chance: Callable[[int], bytes]) -> None:
        """``chance`` gives so many random octets."""
        self._now = now
        self._chance = chance
        self._held: dict[str, tuple[Signed, dt.datetime]] = {}
        self._lock = threading.Lock()

    def begin(self, signed: Signed, response: Response) -> None:
        """Sign somebody in with this response."""
        token = self._chance(OCTETS).hex()
        with self._lock:
            while len(self._held) >= MOST:
                del self._held[next(iter(self._held))]
            self._held[token] = (signed, self._now() + LASTS)
        response.set_cookie(COOKIE, token, max_age=int(LASTS.total_seconds()), httponly=True, samesite="strict")

    def of(self, request: Request) -> Signed | None:
        """Who sent this request; None where nobody is signed in or it was too long ago."""
        given = request.cookies.get(COOKIE, "")
        with self._lock:
            for token, (signed, until) in self._held.items():
                if hmac.compare_digest(token, given):
                    return signed if self._now() < until else None
        return None

    def end(self, request: Request, response: Response) -> None:
        """Sign out whoever sent this request."""
        with self._lock:
            self._held.pop(request.cookies.get(COOKIE, ""), None)
        response.delete_cookie(COOKIE, httponly=True, samesite="strict")
