"""Payment of growers: sign in, seasons, runs with their approval, statements that open to the raw reading."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response

from canewright.accounts.pay_office import PayOffice
from canewright.accounts.pay_people import APPROVE, PREPARE, NotAllowed, People, Signed
from canewright.accounts.pay_tracing import traced
from canewright.accounts.pay_words import file_name, status_of
from canewright.cane.deliveries import PaymentRefused
from canewright.cane.schemes import SCHEMES
from canewright.cane.season_reading import SeasonFaults
from canewright.reports.statement_pdf import StatementPrinter
from canewright.reports.statement_workbook import statement_workbook
from canewright.store import StoredRun, StoreError
from canewright.web.desk import Desk, NotHere
from canewright.web.pay_sessions import Sessions
from canewright.web.words import path

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
REFUSALS = (PaymentRefused, SeasonFaults, StoreError)
Work = Callable[[Desk, Request, Signed], Response]


class SignInFirst(Exception):
    """Nobody is signed in who may see this page."""


class PayPages:
    """The pages of payment over the books, the persons and who is signed in."""

    def __init__(self, desk: Desk, sessions: Sessions, chance: Callable[[int], bytes]) -> None:
        """``chance`` salts the secrets."""
        self._office = PayOffice(desk.books.store, desk.books.description)
        self._people = People(desk.books.store, chance)
        self._sessions = sessions
        self._printer = StatementPrinter(desk.books.description.name)

    # --- who is there -------------------------------------------------------------------------------------------------

    def signed(self, request: Request) -> Signed:
        """Who sent the request, with the rights recorded now. Raises SignInFirst."""
        found = self._sessions.of(request)
        if found is None:
            raise SignInFirst
        return self._people.again(found)

    def refuse_growers(self, request: Request) -> None:
        """Once a grower may sign in, pages with other growers' cane are for those who may see all.

        Raises SignInFirst, NotAllowed.
        """
        if any(person.grower for person in self._office.store.payments.persons()):
            person = self.signed(request)
            if not person.may_see(None):
                raise NotAllowed(f"{person.name} may see statements of his own at /pay and nothing else.")

    def sign_in_page(self, desk: Desk, request: Request) -> Response:
        """The form."""
        return _sign_in(desk, "", _way_back(request.query_params.get("to", "")))

    async def sign_in(self, desk: Desk, request: Request) -> Response:
        """A name and a passphrase."""
        given = await _form(request)
        back = _way_back(given.get("to", ""))
        try:
            person = await run_in_threadpool(self._people.sign_in, given.get("name", ""), given.get("secret", ""))
        except StoreError as refused:
            return _sign_in(desk, str(refused), back, given.get("name", ""), 403)
        response = RedirectResponse(back, 303)
        self._sessions.begin(person, response)
        return response

    async def sign_out(self, desk: Desk, request: Request) -> Response:
        """Forget who was signed in."""
        response = RedirectResponse("/pay/sign-in", 303)
        self._sessions.end(request, response)
        return response

    # --- pages --------------------------------------------------------------------------------------------------------

    def seasons(self, desk: Desk, request: Request) -> Response:
        """The seasons with their runs as this person may see them."""
        person = self.signed(request)
        told = []
        for name in self._office.seasons():
            agreement, season = self._office.season(name)
            told.append({"name": name, "agreement": agreement, "season": season, "runs": self._runs(person, name)})
        return desk.page("pay.html", signed=person, seasons=told, prepares=PREPARE in person.rights, refusal="")

    def _runs(self, person: Signed, season: str) -> list[StoredRun]:
        return self._office.seen_runs(person, season)

    def agreement(self, desk: Desk, request: Request) -> Response:
        """The newest agreement as it was entered."""
        person = self.signed(request)
        if not person.may_see(None):
            raise NotAllowed(f"{person.name} may not see this agreement.")
        return PlainTextResponse(self._office.season(request.path_params["season"])[0].text)

    def schemes(self, desk: Desk, request: Request) -> Response:
        """Every scheme that an agreement can name."""
        return desk.page("pay_schemes.html", schemes=[SCHEMES[key] for key in sorted(SCHEMES)])

    def run(self, desk: Desk, request: Request) -> Response:
        """A run with its totals, growers and what is to be done."""
        return self._run_page(desk, request, self.signed(request))

    def _run_page(self, desk: Desk, request: Request, person: Signed, refusal: str = "", status: int = 200) -> Response:
        season, number = request.path_params["season"], int(request.path_params["number"])
        if not person.may_see(None):
            raise NotAllowed(f"{person.name} may see statements of his own, not the whole run.")
        asked = request.query_params.get("version", "")
        found = self._office.run(season, number, int(asked) if asked.isdigit() else None)
        newest = self._office.run(season, number)
        return desk.page(
            "pay_run.html", status, signed=person, run=found, told=found.content, refusal=refusal,
            versions=self._office.store.payments.versions(season, number), newest=newest.version,
            may_approve=APPROVE in person.rights, may_prepare=PREPARE in person.rights,
        )  # fmt: skip

    async def compute(self, desk: Desk, request: Request) -> Response:
        """Compute the next run, or show what it would be."""
        return await self._post(desk, request, self._computed)

    def _computed(self, desk: Desk, request: Request, person: Signed, given: Mapping[str, str]) -> Response:
        season = request.path_params["season"]
        if given.get("act") == "preview":
            told = self._office.preview(person, season, given.get("reason", ""))
            return desk.page(
                "pay_run.html", signed=person, run=None, told=told, refusal="", versions=(), newest=0,
                may_approve=False, may_prepare=True,
            )  # fmt: skip
        stored = self._office.compute(person, season, given.get("reason", ""))
        return RedirectResponse(f"/pay/{path(season)}/{stored.number}", 303)

    async def correct(self, desk: Desk, request: Request) -> Response:
        """Credit or take back money by hand with the next run."""
        return await self._post(desk, request, self._corrected)

    def _corrected(self, desk: Desk, request: Request, person: Signed, given: Mapping[str, str]) -> Response:
        season, period = request.path_params["season"], given.get("period", "")
        stored = self._office.correct(
            person, season, given.get("grower", ""), given.get("amount", ""), given.get("reason", ""),
            int(period) if period.isdecimal() and len(period) < 4 else 0, given.get("ticket", ""),
        )  # fmt: skip
        says = f"{stored.amount} $ for {stored.grower} come with run {stored.run}: {stored.reason}."
        known = [("compute the run", "/pay")]
        return desk.page("message.html", heading="The correction is recorded", message=says, known=known)

    def agreement_form(self, desk: Desk, request: Request) -> Response:
        """An agreement to be entered; the newest of a season to begin with."""
        person = self.signed(request)
        person.need(PREPARE)
        season = request.query_params.get("season", "")
        text = self._office.season(season)[0].text if season else ""
        return desk.page("pay_agree.html", signed=person, text=text, reason="", refusal="")

    async def agree(self, desk: Desk, request: Request) -> Response:
        """Enter an agreement; one that is refused stays in the form with what is wrong."""
        person = await run_in_threadpool(self.signed, request)
        given = await _form(request)
        # a browser sends lines ended by carriage return and line feed
        text, reason = given.get("text", "").replace("\r\n", "\n"), given.get("reason", "")
        try:
            await run_in_threadpool(self._office.enter_agreement, person, text, reason)
        except NotAllowed:
            raise
        except REFUSALS as refused:
            shown = {"signed": person, "text": text, "reason": reason, "refusal": str(refused)}
            return await run_in_threadpool(lambda: desk.page("pay_agree.html", 422, **shown))
        return RedirectResponse("/pay", 303)

    async def act(self, desk: Desk, request: Request) -> Response:
        """Approve, reject or close a run."""
        return await self._post(desk, request, self._acted)

    def _acted(self, desk: Desk, request: Request, person: Signed, given: Mapping[str, str]) -> Response:
        season, number = request.path_params["season"], int(request.path_params["number"])
        version = int(given["version"]) if given.get("version", "").isdigit() else 0
        if given.get("act") == "approve":
            self._office.approve(person, season, number, version)
        elif given.get("act") == "reject":
            self._office.reject(person, season, number, version, given.get("reason", ""))
        elif given.get("act") == "close":
            self._office.close(person, season, number, version)
        else:
            raise PaymentRefused([f"act: found '{given.get('act', '')[:20]}'; accepted: approve, reject or close"])
        return RedirectResponse(f"/pay/{path(season)}/{number}", 303)

    async def _post(
        self, desk: Desk, request: Request, work: Callable[[Desk, Request, Signed, Mapping[str, str]], Response]
    ) -> Response:
        """A form's act; what is refused is told on the page it came from, with everything else as it was."""
        person = await run_in_threadpool(self.signed, request)
        given = await _form(request)
        try:
            return await run_in_threadpool(work, desk, request, person, given)
        except NotAllowed:
            raise
        except REFUSALS as refused:
            if "number" in request.path_params:
                return await run_in_threadpool(self._run_page, desk, request, person, str(refused), 422)
            return await run_in_threadpool(self._refused, desk, request.path_params["season"], str(refused))

    def _refused(self, desk: Desk, season: str, sentence: str) -> Response:
        known = [(f"season {season}", "/pay")]
        return desk.page("message.html", 422, heading="Nothing was stored", message=sentence, known=known)

    # --- statements ---------------------------------------------------------------------------------------------------

    def _statement(self, request: Request) -> tuple[Mapping[str, Any], StoredRun, str]:
        """The statement asked for, if this person may see it."""
        person, places = self.signed(request), request.path_params
        asked = request.query_params.get("version", "")
        version = int(asked) if asked.isdigit() else None
        found = self._office.statement(person, places["season"], int(places["number"]), places["grower"], version)
        run = self._office.run(places["season"], int(places["number"]), version)
        return found, run, status_of(run)

    def statement(self, desk: Desk, request: Request) -> Response:
        """A grower's statement as a page."""
        found, run, says = self._statement(request)
        return desk.page("pay_statement.html", s=found, run=run, says=says, signed=self.signed(request))

    def statement_json(self, desk: Desk, request: Request) -> Response:
        """The same as data."""
        found, _, says = self._statement(request)
        return JSONResponse({"status": says, **found})

    def statement_pdf(self, desk: Desk, request: Request) -> Response:
        """The same as PDF."""
        found, run, says = self._statement(request)
        return _file(self._printer.pdf(found, says, run.at), "application/pdf", found, "pdf")

    def statement_workbook(self, desk: Desk, request: Request) -> Response:
        """The same as a workbook."""
        found, run, says = self._statement(request)
        made = statement_workbook(found, desk.books.description.name, says, run.at)
        return _file(made, WORKBOOK, found, "xlsx")

    def ticket(self, desk: Desk, request: Request) -> Response:
        """One line of a statement, step by step down to the readings."""
        found, run, says = self._statement(request)
        line = traced(self._office.store, found, request.path_params["ticket"])
        return desk.page("pay_ticket.html", s=found, run=run, says=says, line=line, signed=self.signed(request))


def _file(made: bytes, kind: str, statement: Mapping[str, Any], ending: str) -> Response:
    name = file_name(statement)
    return Response(made, media_type=kind, headers={"content-disposition": f"attachment; filename={name}.{ending}"})


def _sign_in(desk: Desk, refusal: str, back: str, name: str = "", status: int = 200) -> Response:
    return desk.page("pay_sign_in.html", status, refusal=refusal, back=back, name=name)


def _way_back(to: str) -> str:
    """Where to go after signing in: a page of payment, or of this server; never another server."""
    return to if to.startswith("/") and not to.startswith("//") and "\\" not in to else "/pay"


async def _form(request: Request) -> dict[str, str]:
    """The fields of a form. Raises NotHere for anything else."""
    kind = request.headers.get("content-type", "").partition(";")[0].strip()
    if kind != "application/x-www-form-urlencoded":
        raise NotHere("This was not a form of these pages and nothing was done.", [("payment", "/pay")])
    async with request.form() as form:
        return {k: v for k, v in form.items() if isinstance(v, str)}
