"""Every refusal and fault, turned into an answer once: problem+json (RFC 9457) for the API, pages for people.

Nothing here decides; `shop.rules.refusals` and the doors raised it.
"""

import logging
from typing import Any
from urllib.parse import quote

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, RedirectResponse, Response

from shop.db.sessions import ChangedMeanwhile, Clash, DatabaseFault, LostUpdate
from shop.outside.photo_files import PhotoFolderFault
from shop.rules.refusals import BadInput, Held, NotAllowed, NotOnFile, Overtaken, Refusal
from shop.web.api.holds import holds_json
from shop.web.api.json_bodies import GivenTwice
from shop.web.doors import KeyNeeded, SignInNeeded
from shop.web.forms import ShowAgain
from shop.web.templating import frame

LOG = logging.getLogger("tackfree")
API = "/api/"
MEDIA_TYPE = "application/problem+json"
STATUS: dict[type[Refusal], tuple[int, str]] = {
    NotOnFile: (404, "Not on file"),
    NotAllowed: (403, "Not allowed"),
    Overtaken: (409, "Overtaken"),
    BadInput: (422, "Bad input"),
    Held: (409, "Held"),
}
CHANGED = "Somebody else changed this meanwhile; look at it again and repeat what is still wanted."
BUSY = "The database cannot be used just now; nothing was changed, please try again."
SENTENCES = {
    404: "There is no such page.",
    405: "This address does not take that kind of request.",
    413: "That is more than this address takes.",
}
API_SENTENCES = {
    **SENTENCES,
    404: "There is no such address in the API; the page /api lists every call.",
    405: "This address does not take that method; the page /api lists every call.",
}
BROKEN = "Something is wrong in Tackfree itself; nothing was changed. The server's log says more."
# What the framework says in the words of programmers.
SAID_PLAINLY = {
    "extra_forbidden": "There is no such field in this call",
    "missing": "This is needed",
    "model_attributes_type": "This must be a JSON object",
}
# A body of nothing but mistakes must not be answered with a sentence for each.
MOST_ERRORS = 20


def problem(status: int, title: str, detail: str, **more: Any) -> JSONResponse:
    """An answer as RFC 9457 describes it."""
    body = {"type": "about:blank", "title": title, "status": status, "detail": detail, **more}
    return JSONResponse(body, status, media_type=MEDIA_TYPE)


async def answer(request: Request, status: int, title: str, detail: str, **more: Any) -> Response:
    """A problem for a program, a page for a person."""
    if request.url.path.startswith(API):
        return problem(status, title, detail, **more)
    page = await frame(request)
    return page.show("pages/problem.html", status=status, title=title, detail=detail)


async def refused(request: Request, refusal: Exception) -> Response:
    """A refusal of the shop's own rules."""
    assert isinstance(refusal, Refusal)
    status, title = STATUS[type(refusal)]
    more: dict[str, Any] = {}
    if isinstance(refusal, Held):
        more["holds"] = holds_json(refusal.decision)
    if isinstance(refusal, BadInput):
        more["errors"] = [{"field": name, "detail": text} for name, text in refusal.errors.items()]
    return await answer(request, status, title, refusal.sentence, **more)


async def invalid(request: Request, fault: Exception) -> Response:
    """A body or parameter that does not have the shape that was asked for."""
    assert isinstance(fault, RequestValidationError)
    # The framework keeps of what the reader of the body raised only the words; the name is in the cause.
    twice = fault.__cause__
    if isinstance(twice, GivenTwice):
        return await refused(request, BadInput({twice.name: f"{twice.msg}."}))
    errors = [_shown(error, request) for error in fault.errors()[:MOST_ERRORS]]
    detail = " ".join(f"{error['field']}: {error['detail']}" for error in errors)
    return await answer(request, 422, "Bad input", detail, errors=errors)


def _shown(error: Any, request: Request) -> dict[str, str]:
    """One of the framework's complaints as a field's name and a sentence."""
    where = [str(part) for part in error["loc"]]
    if error["type"] == "json_invalid":
        return {"field": "body", "detail": f"The body cannot be read as JSON: {error['ctx']['error']}."}
    if where == ["body"] and "json" not in request.headers.get("content-type", ""):
        return {"field": "body", "detail": "Send the body as JSON, with Content-Type: application/json."}
    words = SAID_PLAINLY.get(error["type"]) or str(error["msg"]).removeprefix("Value error, ").rstrip(".")
    return {"field": ".".join(where[1:]) or where[0], "detail": f"{words[:1].upper()}{words[1:]}."}


async def http_fault(request: Request, fault: Exception) -> Response:
    """What the framework itself refuses: no such address, wrong method, a body too large."""
    assert isinstance(fault, HTTPException)
    sentences = API_SENTENCES if request.url.path.startswith(API) else SENTENCES
    detail = sentences.get(fault.status_code, str(fault.detail))
    response = await answer(request, fault.status_code, str(fault.detail), detail)
    response.headers.update(fault.headers or {})
    return response


async def changed(request: Request, _fault: Exception) -> Response:
    """A lost update."""
    return await answer(request, 409, "Changed meanwhile", CHANGED)


async def clashed(request: Request, fault: Exception) -> Response:
    """Two writes at once of which one can stand; logged, since one alone that does this is our mistake."""
    LOG.warning("two writes clashed: %s", getattr(fault, "orig", fault))
    return await changed(request, fault)


async def unusable(request: Request, fault: Exception) -> Response:
    """A database that is locked, gone or full: said plainly, and logged."""
    LOG.error("database: %s", getattr(fault, "orig", fault))
    response = problem(503, "Database unavailable", BUSY)
    if not request.url.path.startswith(API):
        response = Response(BUSY, 503, media_type="text/plain")  # type: ignore[assignment]
    response.headers["retry-after"] = "5"
    return response


async def no_room(request: Request, fault: Exception) -> Response:
    """A folder of photos that takes none just now; whoever met it has logged why."""
    response = await answer(request, 503, "No room", str(fault))
    response.headers["retry-after"] = "60"
    return response


async def broken(request: Request, fault: Exception) -> Response:
    """A mistake of ours. The server logs the fault itself, after this answer."""
    if request.url.path.startswith(API):
        return problem(500, "Internal error", BROKEN)
    return Response(BROKEN, 500, media_type="text/plain")


async def sign_in_first(request: Request, _fault: Exception) -> Response:
    """Nobody is signed in: to the door, and back afterwards."""
    target = request.url.path if request.method == "GET" else "/"
    address = "/sign-in" if target == "/" else f"/sign-in?next={quote(target, safe='/')}"
    if request.headers.get("hx-request") == "true":
        return Response(status_code=204, headers={"hx-redirect": address})
    return RedirectResponse(address, 303)


async def key_first(_request: Request, _fault: Exception) -> Response:
    """No usable key."""
    response = problem(401, "Key needed", "Send a live key: Authorization: Bearer KEY.")
    response.headers["www-authenticate"] = "Bearer"
    return response


async def show_again(_request: Request, again: Exception) -> Response:
    """A form that comes back."""
    assert isinstance(again, ShowAgain)
    return again.response


def add_handlers(app: FastAPI) -> None:
    """Tell the app how each refusal is answered."""
    for kind in STATUS:
        app.add_exception_handler(kind, refused)
    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(HTTPException, http_fault)
    app.add_exception_handler(ChangedMeanwhile, changed)
    app.add_exception_handler(LostUpdate, changed)
    app.add_exception_handler(Clash, clashed)
    app.add_exception_handler(DatabaseFault, unusable)
    app.add_exception_handler(PhotoFolderFault, no_room)
    app.add_exception_handler(SignInNeeded, sign_in_first)
    app.add_exception_handler(KeyNeeded, key_first)
    app.add_exception_handler(ShowAgain, show_again)
    app.add_exception_handler(Exception, broken)
