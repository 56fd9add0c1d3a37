"""The gate before every page: who may post, how large a body may be, what a browser may load, and broken requests."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import logging
import traceback
from collections.abc import Callable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 64 * 1024
"""Octets; a row of readings is far below it."""
READING_METHODS = ("GET", "HEAD")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
FOREIGN = (
    "This entry came from another page than this server's own and was not stored. Open the page of this server and "
    "enter it there."
)
TOO_LARGE = f"The entry is larger than {LARGEST_BODY // 1024} KiB and was not stored. Send one row at a time."
ONLY_POST = "Pages are read with GET and changed with POST; nothing else is accepted."
log = logging.getLogger("canewright.web")


class TooLarge(Exception):
    """A body beyond the limit whose length was not announced."""


def comes_from_here(headers: Headers) -> bool:
    """Whether a browser says that a post was made by a page of this very server.

    Both signs are checked where both are sent; a post with neither is refused, since every browser sends one.
    """
    fetched, origin = headers.get("sec-fetch-site"), headers.get("origin")
    if fetched is None and origin is None:
        return False
    if fetched is not None and fetched != "same-origin":
        return False
    return origin is None or urlsplit(origin).netloc == headers.get("host")


class Guard:
    """Wraps the pages: refuses foreign and oversized posts, adds the safety headers, and numbers broken requests."""

    def __init__(self, app: ASGIApp, now: Callable[[], dt.datetime]) -> None:
        """``now`` names the moment of an incident."""
        self.app = app
        self._now = now
        self._count = itertools.count(1)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        started = False

        async def dressed(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers[name] = value
            await send(message)

        refusal = _refusal(scope)
        if refusal is not None:
            await _answer(scope, dressed, *refusal)
            return
        try:
            await self.app(scope, _limited(receive), dressed)
        except TooLarge:
            await _answer(scope, dressed, 413, TOO_LARGE)
        except Exception as broken:  # noqa: BLE001 - whatever broke, the person gets a sentence and a number
            sentence = self._incident(scope, broken)
            if not started:
                await _answer(scope, dressed, 500, sentence)

    def _incident(self, scope: Scope, broken: Exception) -> str:
        number = f"{self._now():%Y%m%d-%H%M%S}-{next(self._count)}"
        where = traceback.extract_tb(broken.__traceback__)[-1]
        log.error(
            "incident %s: %s %r: %s: %r, at %s line %s", number, scope["method"], scope["path"],
            type(broken).__name__, str(broken), where.name, where.lineno,
        )  # fmt: skip
        log.debug("incident %s in full", number, exc_info=broken)
        return (
            f"This page broke on our side; nothing was changed by it. The incident is number {number}. Go back and try "
            "again; if it breaks again, give this number to whoever looks after the program."
        )


def _refusal(scope: Scope) -> tuple[int, str] | None:
    headers = Headers(scope=scope)
    method = scope["method"]
    if method in READING_METHODS:
        return None
    if method != "POST":
        return 405, ONLY_POST
    if not comes_from_here(headers):
        return 403, FOREIGN
    length = headers.get("content-length", "0")
    if not length.isdigit() or int(length) > LARGEST_BODY:
        return 413, TOO_LARGE
    return None


def _limited(receive: Receive) -> Receive:
    taken = 0

    async def counting() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > LARGEST_BODY:
            raise TooLarge
        return message

    return counting


async def _answer(scope: Scope, send: Send, status: int, sentence: str) -> None:
    """A refusal as plain text, or as JSON to a script that asks for it."""
    wants_json = "application/json" in Headers(scope=scope).get("accept", "")
    text = json.dumps({"state": "refused", "sentence": sentence}) if wants_json else f"{sentence}\n"
    body = text.encode()
    kind = b"application/json" if wants_json else b"text/plain; charset=utf-8"
    headers = [(b"content-type", kind), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
