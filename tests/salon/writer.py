"""A program that keeps readings one after the other and says which were acknowledged, until it is stopped.

python writer.py FILE FIRST MOST
"""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime

from coatwright.salon.events import event_of
from coatwright.salon.records import Reading
from coatwright.salon.store import Store


def main(place: str, first: int, most: int) -> None:
    now = datetime(2027, 3, 1, 12, tzinfo=UTC)
    with Store.open(place, clock=lambda: now) as store:
        for number in range(first, first + most):
            reading = Reading(f"r{number}", date(2027, 1, 1), "back", 20.0)
            stream = f"dog:bramble{number % 10}"
            event = event_of("reading.taken", stream, reading, at=now, id=f"event-{number}")
            (answer,) = store.append([event])
            print(answer.outcome, event.id, flush=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
