"""Errors on their way out: a page for a reader, one JSON shape for a program, the right status for both."""

from __future__ import annotations

import logging
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from starlette.exceptions import HTTPException

from coatwright.errors import CoatwrightError, FileFormatError, InputError, StoreError, UnfitDog, UnknownName

LOG = logging.getLogger("coatwright.web")


class NoSuchPage(UnknownName):
    """There is nothing at this address."""


def status_of(error: CoatwrightError) -> int:
    """The HTTP status that an error is told with: 4xx for what was given, 5xx for what broke here."""
    if isinstance(error, NoSuchPage):
        return 404
    if isinstance(error, InputError):
        return 422
    if isinstance(error, UnfitDog):
        return 409
    return 503 if isinstance(error, StoreError) else 500


def wants_json(request: Request) -> bool:
    """Whether a program asks rather than a reader."""
    return request.url.path == "/api" or request.url.path.startswith("/api/")


def failure(request: Request, status: int, error: CoatwrightError) -> Response:
    """The answer to a request that failed."""
    if wants_json(request):
        return JSONResponse(error.as_json(), status_code=status)
    from coatwright.web.layout import error_page

    return error_page(request, status, error)


def install(app: FastAPI) -> None:
    """Let the application answer every error in one of the two shapes."""

    @app.exception_handler(CoatwrightError)
    async def _told(request: Request, error: CoatwrightError) -> Response:
        from coatwright.web.security import TooLarge

        status = 413 if isinstance(error, TooLarge) else status_of(error)
        if status >= 500:
            LOG.error("%s", error.text)
        return failure(request, status, error)

    @app.exception_handler(RequestValidationError)
    async def _misshaped(request: Request, error: RequestValidationError) -> Response:
        return failure(request, 422, misshaped(list(error.errors())))

    @app.exception_handler(HTTPException)
    async def _refused(request: Request, error: HTTPException) -> Response:
        if isinstance(error.__cause__, CoatwrightError):
            return await _told(request, error.__cause__)
        answer = failure(request, error.status_code, _http(request, error))
        for name, value in (error.headers or {}).items():
            answer.headers[name] = value
        return answer

    @app.exception_handler(Exception)
    async def _broken(request: Request, error: Exception) -> Response:
        LOG.exception("%s %s", request.method, request.url.path, exc_info=error)
        return failure(
            request,
            500,
            CoatwrightError(
                "Something broke in the program. Nothing was saved by this request.",
                where=request.url.path,
                remedy="Try again; if it comes back, tell the makers what you did, with the last lines of the log.",
            ),
        )


def misshaped(faults: list[Any]) -> InputError:
    """A request whose parts are not of the kind that they should be, as an error of ours."""
    first = faults[0] if faults else {"loc": (), "msg": "something is missing"}
    place = " ".join(str(part) for part in first["loc"] if part not in ("body", "query", "path"))
    words = str(first["msg"])
    return FileFormatError(
        f"{words[:1].upper()}{words[1:200]}.".replace("..", "."),
        where=place or "request",
        remedy="The shape of every request is told under /api/openapi.json.",
    )


def _http(request: Request, error: HTTPException) -> CoatwrightError:
    if error.status_code == 404:
        return NoSuchPage(
            "There is nothing at this address.",
            where=request.url.path[:200],
            remedy="Begin at Today or at Dogs.",
        )
    if error.status_code == 405:
        return InputError(
            f"This address cannot be asked with {request.method}.",
            where=request.url.path[:200],
            remedy="Open it, or use the form of its page.",
        )
    words = error.detail if isinstance(error.detail, str) else HTTPStatus(error.status_code).phrase
    return InputError(f"{words.rstrip('.')}.", where="request", remedy="Send it again from its page.")
