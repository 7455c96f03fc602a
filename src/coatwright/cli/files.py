"""Files that a command writes besides its output. A file appears whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from coatwright.errors import InputError

if TYPE_CHECKING:
    from coatwright.printing.sheet import PlanDocument, Sheet
    from coatwright.salon.plans import DogPlan
    from coatwright.salon.results import DogForecast


def write(path: Path, content: str | bytes) -> Path:
    """Write a file beside its place and move it there; :class:`InputError` when that cannot be done."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    target = path.expanduser()
    try:
        handle, part = tempfile.mkstemp(dir=target.absolute().parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            Path(part).chmod(0o666 & ~_umask())
            Path(part).replace(target)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise InputError(
            f"The file cannot be written: {error.strerror or error}.",
            where=str(path),
            remedy="Choose a folder that exists and is yours.",
        ) from error
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def save_plan(
    plan: DogPlan,
    document: PlanDocument,
    *,
    svg: Path | None,
    pdf: Path | None,
    paper: str,
    ics: Path | None,
    csv: Path | None,
    unit: str,
) -> list[Path]:
    """Ready ribbons as SVG, the whole plan as PDF, its days as iCalendar, its takes as CSV; the files written."""
    saved = []
    if svg is not None:
        from coatwright.cli.charts import plan_chart

        saved.append(write(svg, plan_chart(plan)))
    if pdf is not None:
        from coatwright.printing.pdf import picture_day, plan_pdf
        from coatwright.salon.charts import printed_ribbons
        from coatwright.salon.pictures import coat_picture_on

        made = plan_pdf(
            document,
            paper=paper,
            unit=unit,
            picture_svg=coat_picture_on(plan, picture_day(document)),
            ribbons_svg=printed_ribbons(document),
        )
        saved.append(write(pdf, made))
    if ics is not None:
        from coatwright.printing.ical import calendar_ics

        saved.append(write(ics, calendar_ics(document, stamp=datetime.now(UTC))))
    if csv is not None:
        from coatwright.printing.takes import takes_csv

        saved.append(write(csv, takes_csv(document)))
    return saved


def save_forecast(ahead: DogForecast, zones: Sequence[str], *, svg: Path | None, unit: str) -> list[Path]:
    """The cover of the zones, or the layers of a single one, as SVG; the files written."""
    if svg is None:
        return []
    from coatwright.cli.charts import forecast_chart

    return [write(svg, forecast_chart(ahead, zones, unit))]


def save_sheet(plan: DogPlan, sheet: Sheet, *, pdf: Path | None, paper: str, unit: str) -> list[Path]:
    """The visit's sheet with its picture as PDF; the files written."""
    if pdf is None:
        return []
    from coatwright.printing.pdf import sheet_pdf
    from coatwright.salon.pictures import take_picture

    picture = take_picture(plan, sheet.day)
    return [write(pdf, sheet_pdf(sheet, paper=paper, unit=unit, picture_svg=picture))]
