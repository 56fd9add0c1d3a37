"""Who may pass to which page, judged on this server at every request, and what is said to who may not.

Two kinds of people sign in: growers with a key of the cane office, and persons of the payment records with a name and a
passphrase. Whoever carries neither is the person of this machine.
"""

from __future__ import annotations

import inspect
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from canewright.accounts.pay_people import NotAllowed
from canewright.store import PayRefused, StoreError
from canewright.web.desk import CannotBeShown, Desk, NotHere
from canewright.web.pay_pages import PayPages, SignInFirst
from canewright.web.visitors import Visitor, Visitors

Page = Callable[[Desk, Request], Any]
CANE_OF_ALL = ("/day", "/cane", "/season", "/harvest")
"""Pages that show the consignments of every grower, or figures made of them."""
HEADINGS = {403: "This is not for you to see", 404: "There is no such page"}
SIGN_IN = "Sign in first with the key that the cane office gave you."
NOT_YOURS = "A grower's key opens his own deliveries and blocks only."


@dataclass(frozen=True)
class Door:
    """Who may pass to a page: the ``office`` alone, ``growers`` too, or ``anybody``."""

    desk: Desk
    visitors: Visitors
    pay: PayPages
    open_to: str

    def answering(self, page: Page) -> Callable[[Request], Awaitable[Response]]:
        """The page behind this door."""
        inside = _answering(self.desk, page, self.pay)

        async def answer(request: Request) -> Response:
            if self.open_to != "anybody":
                visitor = await run_in_threadpool(self.visitors.of, request)
                refused = self._refusal(request, visitor)
                if refused is not None:
                    return refused
                request.state.visitor = visitor
            return await inside(request)

        return answer

    def _refusal(self, request: Request, visitor: Visitor | None) -> Response | None:
        if visitor is None:
            if request.url.path.endswith(".json"):
                return JSONResponse({"state": "refused", "sentence": SIGN_IN}, 401)
            return RedirectResponse("/cane/sign-in", 303)
        if visitor.grower is None or self.open_to != "office":
            return None
        if request.url.path.endswith(".json"):
            return JSONResponse({"state": "refused", "sentence": NOT_YOURS}, 403)
        shown = {"heading": "This page is the office's", "message": NOT_YOURS, "visitor": visitor}
        return self.desk.page("message.html", 403, known=[("your own page", "/cane/own")], **shown)


def _answering(desk: Desk, page: Page, pay: PayPages) -> Callable[[Request], Awaitable[Response]]:
    """A page with its refusals in sentences: what is not here, what cannot be shown, what the records refuse."""

    async def answer(request: Request) -> Response:
        try:
            visitor = getattr(request.state, "visitor", None)
            if visitor is not None and visitor.grower is None and request.url.path.startswith(CANE_OF_ALL):
                await run_in_threadpool(pay.refuse_growers, request)
            if inspect.iscoroutinefunction(page):
                response = await page(desk, request)
            else:
                response = await run_in_threadpool(page, desk, request)
        except SignInFirst:
            return RedirectResponse(f"/pay/sign-in?to={quote(request.url.path)}", 303)
        except NotAllowed as refused:
            response = await run_in_threadpool(_refused, desk, request, 403, str(refused), [("payment", "/pay")])
        except NotHere as lacking:
            response = await run_in_threadpool(_refused, desk, request, 404, str(lacking), lacking.known)
        except PayRefused as refused:
            response = await run_in_threadpool(_refused, desk, request, 404, str(refused), [("payment", "/pay")])
        except (CannotBeShown, StoreError) as refused:
            day = request.path_params.get("day")
            elsewhere = [*desk.known_days()[:1], ("payment", "/pay")]
            known = [("enter readings of the day", f"/day/{day}/entry")] if day else elsewhere
            response = await run_in_threadpool(_refused, desk, request, 503, str(refused), known)
        if not isinstance(response, Response):
            raise TypeError(f"{request.url.path} made no response")
        return response

    return answer


def _refused(desk: Desk, request: Request, status: int, message: str, known: list[tuple[str, str]]) -> Response:
    wants_json = request.url.path.endswith(".json") or "application/json" in request.headers.get("accept", "")
    if wants_json:
        there = [address for _, address in known]
        return JSONResponse({"state": "refused", "sentence": message, "there is": there}, status)
    heading = HEADINGS.get(status, "This cannot be shown")
    visitor = getattr(request.state, "visitor", Visitor("nobody", ""))
    return desk.page("message.html", status, heading=heading, message=message, known=known, visitor=visitor)


def unknown_address(desk: Desk, visitors: Visitors) -> Callable[[Request, Exception], Awaitable[Response]]:
    """What is said where there is no page."""

    async def answer(request: Request, error: Exception) -> Response:
        status = error.status_code if isinstance(error, HTTPException) else 500
        known = [("the latest day", "/"), ("the day's files", "/dictionary"), ("formulas", "/formulas")]
        visitor = await run_in_threadpool(visitors.of, request)
        request.state.visitor = visitor or Visitor("nobody", "")
        if request.state.visitor.grower is not None:
            known = [("growers: sign in, or your own page", "/cane/own")]
        message = f"'{request.url.path[:80]}' is not an address of these pages."
        if status == 405:
            message = f"'{request.url.path[:80]}' is read, not posted to."
        return await run_in_threadpool(_refused, desk, request, status, message, known)

    return answer
