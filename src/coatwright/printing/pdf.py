"""A visit's sheet and a whole plan as tagged PDF (PDF/UA-1), on A4 or Letter, in mm or inches."""

from __future__ import annotations

from coatwright.printing.plan_view import picture_day, plan_view
from coatwright.printing.sheet import PlanDocument, Sheet
from coatwright.printing.sheet_view import sheet_view
from coatwright.printing.typeset import typeset

__all__ = ["picture_day", "plan_pdf", "sheet_pdf"]


def sheet_pdf(sheet: Sheet, *, paper: str = "a4", unit: str = "mm", picture_svg: str | None = None) -> bytes:
    """One visit on one sheet of paper.

    ``paper`` is a4 or letter, ``unit`` mm or in; ``picture_svg`` is the coat picture with the visit's takes
    shaded, drawn for print. Raises :class:`~coatwright.errors.OutOfRange` for another paper or unit.
    """
    return typeset("sheet", sheet_view(sheet, unit), paper=paper, made=sheet.made, picture_svg=picture_svg)


def plan_pdf(
    document: PlanDocument,
    *,
    paper: str = "a4",
    unit: str = "mm",
    picture_svg: str | None = None,
    ribbons_svg: str | None = None,
) -> bytes:
    """A whole plan on as many pages as it takes; the grid of visits repeats its head on each.

    Arguments as for :func:`sheet_pdf`; ``picture_svg`` is the coat on :func:`picture_day`, drawn for print;
    ``ribbons_svg`` are the ready ribbons.
    """
    return typeset(
        "plan",
        plan_view(document, unit),
        paper=paper,
        made=document.made,
        picture_svg=picture_svg,
        charts={} if ribbons_svg is None else {"ribbons": ribbons_svg},
    )
