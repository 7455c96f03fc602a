"""Settings that a browser keeps: millimetres or inches."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import Response

from coatwright.web.forms import Fields, posted
from coatwright.web.layout import UNIT_COOKIE, go, inside
from coatwright.web.words import UNITS

router = APIRouter(include_in_schema=False)

YEAR = 365 * 24 * 3600


@router.post("/settings")
def choose(fields: Annotated[Fields, Depends(posted)]) -> Response:
    """Choose the unit of lengths, then back to where one was."""
    unit = fields.choice("unit", "unit", UNITS, default="mm")
    answer = go(inside(fields.text("back", "back") or "/"))
    answer.set_cookie(UNIT_COOKIE, unit, max_age=YEAR, httponly=True, samesite="strict")
    return answer
