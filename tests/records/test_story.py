from __future__ import annotations

import io
import json
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.records.support import WAITS, WORDS, Clock, interview, verdict
from triage.records.entries import add
from triage.records.intake import take_in
from triage.records.places import bed_named, find_planting, garden_named, plant
from triage.records.store import Journal, open_journal
from triage.records.story import Filters, records, story
from triage.records.transfer import read_files, write_json
from triage.records.visits import keep_visit
from triage.screens.console import screen
from triage.screens.journal_page import show_story


@pytest.fixture
def told(journal: Journal) -> Journal:
    """Two plantings with a small story each."""
    clock = journal.clock
    with journal.write() as session:
        garden = garden_named(session, "School garden")
        bean = plant(session, bed_named(session, garden, "North bed"), "bean", "Blue Lake", date(2026, 5, 3))
        tomato = plant(session, bed_named(session, garden, "Süd-Beet"), "tomato")
    with journal.write() as session:
        mite = [(interview(), verdict())]
        keep_visit(session, bean, date(2026, 6, 12), mite, WAITS, written=clock(), observer="Ana", note="“hot” days")
        two = [
            (interview("clean"), verdict()),
            (interview(None), verdict("late_blight", "fungal", "unclear", "do_not_spray")),
        ]
        keep_visit(session, bean, date(2026, 6, 30), two, WAITS, written=clock(), observer="Ben")
        keep_visit(session, tomato, date(2026, 7, 1), [], WAITS, written=clock(), observer="Ben")
        for kind, day, data in (
            ("spray", "2026-06-13", {"mix": "home mix", "volume_ml": 1500.0, "round": 1}),
            ("count", "2026-06-12", {"looked": 40, "infested": 12, "sprayed": False}),
            ("patch", "2026-06-10", {"mix": "home mix", "look_on": "2026-06-12", "result": "clean"}),
            ("harvest", "2026-07-10", {"amount": 2.5, "unit": "kg"}),
            ("confirm", "2026-06-20", {"cause": "two_spotted_spider_mite", "by_whom": "lens"}),
            ("action", "2026-06-12", {"what": "hosed the leaves"}),
            ("note", "2027-01-01", {"text": "a new year"}),
        ):
            add(session, kind, bean, {"date": day, "observer": "Ana", **data}, clock())
    return journal


def lines(journal: Journal, causes: frozenset[str] = frozenset(), **filters: Any) -> list[tuple[str, str]]:
    with journal.read() as session:
        return [(line.day.isoformat(), line.kind) for line in story(session, Filters(**filters), causes)]


def test_oldest_first_and_in_a_days_order_of_writing(told: Journal) -> None:
    with told.read() as session:
        bean = find_planting(session, "bean", WORDS).id
    assert lines(told, planting=bean) == [
        ("2026-06-10", "patch"),
        ("2026-06-12", "visit"),
        ("2026-06-12", "count"),
        ("2026-06-12", "action"),
        ("2026-06-13", "spray"),
        ("2026-06-20", "confirm"),
        ("2026-06-30", "visit"),
        ("2026-07-10", "harvest"),
        ("2027-01-01", "note"),
    ]


@pytest.mark.parametrize(
    "filters, count",
    [
        ({}, 10),
        ({"bed": "North bed"}, 9),
        ({"crop": "tomato"}, 1),
        ({"observer": "Ben"}, 2),
        ({"garden": "Another"}, 0),
        ({"since": date(2026, 6, 20)}, 5),
        ({"until": date(2026, 6, 12)}, 4),
        ({"since": date(2026, 6, 12), "until": date(2026, 6, 12)}, 3),
        ({"class_id": "fungal"}, 1),
        ({"class_id": "soft_bodied", "causes": frozenset({"two_spotted_spider_mite"})}, 3),
        ({"kinds": ("spray", "harvest")}, 2),
        ({"last": 3}, 3),
    ],
)
def test_filters(told: Journal, filters: dict[str, Any], count: int) -> None:
    assert len(lines(told, **filters)) == count


def test_last_is_the_end_of_the_story(told: Journal) -> None:
    assert lines(told, last=3) == lines(told)[-3:]


def test_for_machines_every_entry_is_whole(told: Journal) -> None:
    with told.read() as session:
        found = [json.loads(json.dumps(record)) for record in records(story(session, Filters()))]
    visit = next(record for record in found if record["kind"] == "visit" and len(record["cases"]) == 2)
    assert [case["class"] for case in visit["cases"]] == ["soft_bodied", "fungal"]
    assert {record["bed"] for record in found} == {"North bed", "Süd-Beet"}


def printed(journal: Journal, plain: bool) -> str:
    out = io.StringIO()
    with journal.read() as session:
        for words in ("bean", "tomato", ""):
            planting = find_planting(session, words, WORDS).id if words else None
            show_story(story(session, Filters(planting=planting)), WORDS, str, screen(plain, out))
    return out.getvalue()


def test_the_same_story_from_sqlite_and_postgresql(
    told: Journal, new_database: Callable[[], str], tmp_path: Path
) -> None:
    with told.read() as session:
        write_json(session, tmp_path / "told.json")
    club = open_journal(new_database(), tmp_path / "backups", Clock())
    with club.write() as session:
        take_in(session, read_files(tmp_path / "told.json"), club.clock())
    assert printed(club, plain=False) == printed(told, plain=False) != ""
    assert printed(club, plain=True) == printed(told, plain=True)
    with told.read() as here, club.read() as there:
        assert list(records(story(here, Filters()))) == list(records(story(there, Filters())))
    club.close()


def test_printed_story_says_what_was_seen_and_done(told: Journal) -> None:
    text = printed(told, plain=True)
    for words in (
        "Bean (Blue Lake), North bed sown 3 May 2026", "Two spotted spider mite 81%, worth a spray, new growth hit too",
        "perhaps Late blight", "12 of 40 leaves with pests (30%)", "1500 mL, round 1", "2.5 kg", "all fine", "2027",
    ):  # fmt: skip
        assert words in " ".join(text.split()), words
    assert max(map(len, text.splitlines())) <= 80
    assert not set(text) & set("─█●▼")
