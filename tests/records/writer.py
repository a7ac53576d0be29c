"""Writes to a journal, in processes of its own that test_crash.py starts and kills.

Each visit has two cases, so that a half-written one would show. Its name is sent only
when it is kept, as a screen would confirm it.
"""

from __future__ import annotations

import time
import warnings
from datetime import date
from multiprocessing.connection import Connection
from pathlib import Path

from tests.records.support import WAITS, interview, verdict
from triage.records.places import garden_named, planting_of
from triage.records.store import open_journal
from triage.records.visits import keep_visit


def write(address: str, name: str, count: int, seconds: float, kept: Connection) -> None:
    warnings.simplefilter("error")  # whatever it would mutter ends it, and so fails the test
    journal = open_journal(address, Path("unused"))
    end = time.monotonic() + seconds
    judged = [(interview(), verdict()), (interview(), verdict("aphids"))]
    for number in range(count):
        if time.monotonic() > end:
            break
        with journal.write() as session:
            garden = garden_named(session, "School garden")
            planting = planting_of(session, garden, "bean", "North bed", None, {})
            note = f"{name} {number}"
            keep_visit(session, planting, date(2026, 8, 3), judged, WAITS, written=journal.clock(), note=note)
        kept.send(note)
    journal.close()
