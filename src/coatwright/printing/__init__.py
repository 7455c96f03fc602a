"""Paper and files to take away: visit sheets and plans as tagged PDF, calendars, tables of takes.

Nothing here knows a dog's records: it prints what :mod:`coatwright.printing.sheet` holds.
"""

from coatwright.printing.ical import calendar_ics
from coatwright.printing.pdf import plan_pdf, sheet_pdf
from coatwright.printing.takes import takes_csv

__all__ = ["calendar_ics", "plan_pdf", "sheet_pdf", "takes_csv"]
