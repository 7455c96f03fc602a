"""Paper tests as plain values, in the shapes that ``coatwright schema paper`` and ``schema thread`` describe."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from coatwright.paper.report import SAMPLE
from coatwright.paper.witness_ends import clopper_pearson
from coatwright.salon.paper_drafts import BROKEN, OPEN, WHOLE, ByHand, lengths_of, repaired, state_of
from coatwright.salon.printers import proof_words

if TYPE_CHECKING:
    from coatwright.paper.photo import PhotoError
    from coatwright.paper.report import FibreReport, HauteurBarbe
    from coatwright.paper.share import ShareBelief
    from coatwright.paper.whole import SheetRead
    from coatwright.salon.fold import Salon
    from coatwright.salon.gear import ThreadKept
    from coatwright.salon.paper_drafts import SheetHead
    from coatwright.salon.records import Dog
    from coatwright.salon.verdicts import Trial

VERSION = 1
"""Version of the shape of these values; it rises when a key changes its meaning or goes."""


@dataclass(frozen=True, eq=False)
class PhotoDone:
    """One photograph of several: what was read and for which record, or why it was refused."""

    name: str
    purpose: str
    head: SheetHead | None = None
    read: SheetRead | None = None
    kept: bool = False
    error: PhotoError | None = None


def paper_result(
    photos: Iterable[PhotoDone],
    trial: Trial | None,
    *,
    dog: Dog | None,
    zone: str,
    salon: Salon | None,
    today: date,
    traces: bool = False,
    printer_note: str = "",
) -> dict[str, Any]:
    """Photographed sheets and what they say of the tool; ``traces`` adds the points of every hair.

    ``printer_note`` says which printer was assumed where none was named.
    """
    done = list(photos)
    head = next((one.head for one in done if one.head is not None), None)
    return {
        "kind": "paper",
        "version": VERSION,
        "dog": None if dog is None else {"id": dog.id, "name": dog.name},
        "zone": zone or None,
        "tool": head.tool if head else "",
        "groomer": head.groomer if head else "",
        "day": None if head is None else head.day.isoformat(),
        "phone": head.phone if head else "",
        "printer": head.printer if head else "",
        "printer_note": printer_note,
        "bar_mm": None if head is None else head.bar_mm,
        "photos": [_photo(one) for one in done],
        "hairs": [
            row
            for number, one in enumerate(done)
            if one.read is not None
            for row in _hairs(number, one.read, traces)
        ],
        "trial": None if trial is None else trial_result(trial),
        "proof": None
        if head is None or salon is None
        else proof_words(salon, head.phone, head.printer, today, head.bar_mm),
    }


def trial_result(trial: Trial) -> dict[str, Any]:
    """A trial as plain values: word, range, witnesses, how many more hairs, and the lengths as they are reported."""
    said, heard, settling = trial.verdict, trial.heard, trial.settling
    low, high = said.interval or (None, None)
    testimony, misjudged = heard.testimony, heard.misjudged
    return {
        "word": said.word,
        "share": _rounded(said.share),
        "low": _rounded(low),
        "high": _rounded(high),
        "over": _rounded(said.over),
        "judged": 0 if testimony is None else testimony.judged,
        "measured": 0 if testimony is None else testimony.measured,
        "whole": trial.whole,
        "broken": trial.broken,
        "unjudged": trial.unjudged,
        "why": said.why,
        "rule": said.rule,
        "more": {"even": settling.even, "likely": settling.more, "text": settling.text},
        "ends": None if testimony is None else _belief(testimony.ends),
        "exact": _exact(trial.broken, trial.broken + trial.whole),
        "lengths": None if testimony is None else _belief(testimony.lengths),
        "contradicted": testimony is not None and testimony.contradicted,
        "control": heard.control or None,
        "control_hairs": heard.control_hairs,
        "known": heard.known or None,
        "sensitivity": None if misjudged is None else _rounded(misjudged.sensitivity),
        "specificity": None if misjudged is None else _rounded(misjudged.specificity),
        "remarks": list(heard.remarks),
        "report": report_result(trial.report, trial.wool),
    }


def report_result(report: FibreReport | None, wool: HauteurBarbe | None) -> dict[str, Any] | None:
    """The lengths of whole hairs in the form of ASTM D5103 (from memory), with the two means of wool testing."""
    if report is None or wool is None:
        return None
    return {
        "count": report.count,
        "sample": SAMPLE,
        "enough": report.enough,
        "mean_mm": _rounded(report.mean, 2),
        "mean_low_mm": _rounded(report.interval[0], 2),
        "mean_high_mm": _rounded(report.interval[1], 2),
        "sd_mm": _rounded(report.sd, 2),
        "cv_percent": _rounded(report.cv, 2),
        "least_mm": _rounded(report.least, 2),
        "greatest_mm": _rounded(report.greatest, 2),
        "range_mm": _rounded(report.range, 2),
        "median_mm": _rounded(report.median, 2),
        "hauteur_mm": _rounded(wool.hauteur, 2),
        "hauteur_cv_percent": _rounded(wool.cv, 2),
        "barbe_mm": _rounded(wool.barbe, 2),
    }


def thread_result(kept: ThreadKept, words: str) -> dict[str, Any]:
    """A thread check as plain values."""
    check = kept.check
    return {
        "kind": "thread",
        "version": VERSION,
        "id": kept.id,
        "day": kept.day.isoformat(),
        "phone": kept.phone,
        "printer": kept.printer,
        "bar_mm": kept.bar_mm,
        "sheet": kept.sheet,
        "verdict": check["verdict"],
        "scale": _rounded(check["scale"], 5),
        "scale_error": _rounded(check["scale_error"], 5),
        "odd": check["odd"],
        "cuts": [
            {
                "cut_mm": row["cut"],
                "count": row["count"],
                "bias_mm": _rounded(row["bias"], 3),
                "spread_mm": _rounded(row["spread"], 3),
            }
            for row in check["cuts"]
        ],
        "words": words,
    }


def _photo(one: PhotoDone) -> dict[str, Any]:
    read, error = one.read, one.error
    counted = None if read is None else {word: len(mm) for word, mm in lengths_of(read, ByHand()).items()}
    return {
        "file": one.name,
        "purpose": one.purpose,
        "kept": one.head.id if one.kept and one.head is not None else None,
        "sheet": None if read is None else read.sheet,
        "camera": "" if read is None else read.camera,
        "px_per_mm": None if read is None else _rounded(read.place.px_per_mm, 2),
        "tilt_degrees": None if read is None else _rounded(read.place.tilt_degrees, 1),
        "blur_px": None if read is None else _rounded(read.place.blur_px, 2),
        "residual_mm": None if read is None else _rounded(read.place.residual_mm, 3),
        "markers": None if read is None else len(read.place.markers),
        "whole": None if counted is None else counted[WHOLE],
        "broken": None if counted is None else counted[BROKEN],
        "unjudged": None if counted is None else counted[OPEN],
        "left_out": None if read is None else read.reading.left_out,
        "remarks": [] if read is None else [_remark(row.as_json()) for row in read.remarks],
        "error": None
        if error is None
        else {"code": error.code, "what": error.what, "where": error.where, "remedy": error.remedy},
    }


def _remark(row: Mapping[str, Any]) -> dict[str, Any]:
    return {key: row[key] for key in ("code", "what", "change")}


def _hairs(photo: int, read: SheetRead, traces: bool) -> Iterable[dict[str, Any]]:
    nothing = ByHand()
    hairs = repaired(read, nothing)
    for number, hair in hairs.items():
        yield {
            "photo": photo,
            "number": number + 1,
            "length_mm": _rounded(float(hair.length_mm), 3),
            "state": state_of(hairs, nothing, number),
            "ends": list(hair.ends),
            "score": _rounded(hair.score, 3),
            "why": hair.why,
            "points_mm": hair.trace.as_json()["points"] if traces else None,
        }


def _belief(belief: ShareBelief | None) -> dict[str, Any] | None:
    if belief is None:
        return None
    low, high = belief.interval()
    return {"share": _rounded(belief.median), "low": _rounded(low), "high": _rounded(high)}


def _exact(broken: int, judged: int) -> dict[str, Any] | None:
    """The classical exact range of the plain count."""
    if not judged:
        return None
    low, high = clopper_pearson(broken, judged)
    return {"low": _rounded(low), "high": _rounded(high)}


def _rounded(value: float | None, digits: int = 4) -> float | None:
    return None if value is None else round(float(value), digits)
