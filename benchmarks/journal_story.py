"""How long a planting's story takes in a journal of 100,000 visits: `python benchmarks/journal_story.py [ADDRESS]`.

ADDRESS is a file or postgresql+psycopg://; a file in a temporary folder if not given. Verdicts
are real ones, of the example case, at their full length. Invented data throughout.
"""

from __future__ import annotations

import io
import random
import statistics
import sys
import tempfile
import time
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import func, insert, select

from triage.reasoning.case import read_visit
from triage.reasoning.engine import build
from triage.reasoning.interview import Interview, to_data
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.verdict import judge
from triage.reasoning.yaml_text import parse, read_text
from triage.records.due import due
from triage.records.places import bed_named, garden_named, plant, plantings
from triage.records.store import Journal, open_journal
from triage.records.story import Filters, story
from triage.records.tables import Case, Count, Spray, Visit, new_uid
from triage.screens.console import screen
from triage.screens.journal_page import show_story

VISITS, PLANTINGS, ROUNDS = 100_000, 500, 20
EXAMPLE = Path(__file__).parents[1] / "examples" / "cases" / "bean_pinprick_dots.yaml"


def main(address: str | None) -> None:
    with tempfile.TemporaryDirectory() as folder:
        journal = open_journal(address or Path(folder) / "journal.db", Path(folder))
        started = time.perf_counter()
        fill(journal)
        print(f"filled with {VISITS} visits in {time.perf_counter() - started:.0f} s")
        if journal.path:
            print(f"file: {journal.path.stat().st_size / 1e6:.0f} MB")
        measure(journal)
        journal.close()


def fill(journal: Journal) -> None:
    knowledge = load(knowledge_folder())
    text = read_text(EXAMPLE)
    [case] = read_visit(parse(text, str(EXAMPLE)), knowledge, str(EXAMPLE), text)
    verdict = judge(case, build(knowledge))
    told = {"answers": to_data(Interview(case)), "verdict": verdict.model_dump(mode="json", by_alias=True)}
    dice = random.Random(7)
    with journal.write() as session:
        garden = garden_named(session, "Benchmark")
        beds = [bed_named(session, garden, f"Bed {n}") for n in range(50)]
        numbers = [plant(session, dice.choice(beds), "bean").id for _ in range(PLANTINGS)]
    for _ in range(0, VISITS, 5000):
        with journal.write() as session:
            entries = [entry(dice, numbers) for _one in range(5000)]
            session.execute(insert(Visit), [{**e, "look_again": e["date"] + timedelta(days=3)} for e in entries])
            first = (session.scalar(select(func.max(Visit.id))) or 0) - 4999
            session.execute(
                insert(Case),
                [
                    {
                        "uid": new_uid(), "visit_id": first + n, "state": verdict.state, "advice": verdict.spray.advice,
                        "class_id": verdict.leading.class_id, "cause": verdict.leading.id, "severity": "some",
                        "cause_name": verdict.leading.name, "chance": verdict.leading.probability,
                        "new_growth": dice.choice(["clean", "affected"]), "knowledge": verdict.knowledge, **told,
                    }
                    for n in range(5000)
                ],
            )  # fmt: skip
            session.execute(insert(Spray), [{**entry(dice, numbers), "mix": "home mix"} for _ in range(1500)])
            session.execute(insert(Count), [{**entry(dice, numbers), "pests": dice.randrange(90)} for _ in range(1500)])


def entry(dice: random.Random, plantings: list[int]) -> dict[str, Any]:
    day = date(2024, 1, 1) + timedelta(days=dice.randrange(1000))
    written = datetime(day.year, day.month, day.day, 9, tzinfo=UTC)
    who = dice.choice(["Ana", "Ben", "Cleo"])
    return {"uid": new_uid(), "planting_id": dice.choice(plantings), "date": day, "observer": who, "written": written}


def measure(journal: Journal) -> None:
    with journal.read() as session:
        known = [planting.id for planting in plantings(session)]
    dice = random.Random(8)
    takes: dict[str, list[float]] = {}
    for _ in range(ROUNDS):
        one = dice.choice(known)
        for name, filters in {
            "a planting's story, read and drawn": Filters(planting=one),
            "the latest 40 entries": Filters(last=40),
            "a bed in one month": Filters(bed="Bed 7", since=date(2025, 6, 1), until=date(2025, 6, 30)),
        }.items():
            started = time.perf_counter()
            with journal.read() as session:
                show_story(story(session, filters), {}, str, screen(plain=False, file=io.StringIO()))
            takes.setdefault(name, []).append(time.perf_counter() - started)
        started = time.perf_counter()
        with journal.read() as session:
            due(session, date(2026, 9, 26))
        takes.setdefault("what is due", []).append(time.perf_counter() - started)
    for name, seconds in takes.items():
        print(f"{name}: median {1000 * statistics.median(seconds):.0f} ms, longest {1000 * max(seconds):.0f} ms")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
