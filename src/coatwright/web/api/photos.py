"""Photos of dogs: taken in from tablets, shown at the desk."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool

from coatwright.errors import UnknownName
from coatwright.web.api.shapes import PhotoOut, Problem
from coatwright.web.failures import NoSuchPage
from coatwright.web.layout import desk_of

router = APIRouter()

Sha = Annotated[str, Path(description="SHA-256 of the bytes that are sent, in hex.", max_length=200)]


@router.put(
    "/api/photos/{sha}",
    tags=["desk"],
    response_model=PhotoOut,
    status_code=201,
    responses={
        200: {"model": PhotoOut, "description": "It was here already"},
        403: {"model": Problem, "description": "Not asked for by a page of this desk"},
        413: {"model": Problem, "description": "More was sent than is taken"},
        422: {"model": Problem, "description": "These are not the bytes of that name, or no photo"},
        503: {"model": Problem, "description": "It cannot be kept now"},
    },
)
async def put_photo(request: Request, sha: Sha) -> JSONResponse:
    """Keep a photo: upright, at most 2,400 pixels a side, without the place where it was taken."""
    from coatwright.salon.photos import keep_photo

    fresh = await run_in_threadpool(keep_photo, desk_of(request).store, sha, await request.body())
    return JSONResponse({"photo": sha, "outcome": "kept" if fresh else "already"}, 201 if fresh else 200)


@router.get("/photos/{sha}", include_in_schema=False)
def show_photo(request: Request, sha: str) -> Response:
    """A photo, small with ``?small``."""
    from coatwright.salon.photos import photo

    try:
        data = photo(desk_of(request).store, sha, small="small" in request.query_params)
    except UnknownName as error:
        raise NoSuchPage(error.what, remedy=error.remedy) from error
    return Response(
        data, media_type="image/jpeg", headers={"cache-control": "private, max-age=31536000, immutable"}
    )
