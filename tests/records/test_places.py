from __future__ import annotations

from datetime import date

import pytest

from tests.records.support import WORDS
from triage.reasoning.yaml_text import BadInput
from triage.records.places import bed_named, find_planting, garden_named, label, plant, planting_of, plantings
from triage.records.store import Journal


def filled(journal: Journal) -> dict[str, str]:
    """Some plantings, by what they are called."""
    with journal.write() as session:
        garden = garden_named(session, "School garden")
        north, south = bed_named(session, garden, "North bed"), bed_named(session, garden, "South bed")
        made = {
            "beans north": plant(session, north, "bean", "Blue Lake", date(2026, 5, 3)),
            "beans south": plant(session, south, "bean"),
            "broad bean": plant(session, north, "broad_bean"),
            "tomato": plant(session, south, "tomato", "Roma"),
        }
        old = plant(session, south, "tomato", "Marmande", date(2025, 4, 1))
        old.removed = date(2025, 10, 1)
        return {name: planting.uid for name, planting in {**made, "old": old}.items()}


@pytest.mark.parametrize(
    "words, which",
    [
        ("beans north bed", "beans north"),
        ("blue", "beans north"),
        ("bean in the South bed", "beans south"),
        ("broad", "broad bean"),
        ("love apple", "tomato"),
        ("TOMATO", "tomato"),
        ("marmande", "old"),
    ],
)
def test_found_by_a_few_words(journal: Journal, words: str, which: str) -> None:
    made = filled(journal)
    with journal.read() as session:
        assert find_planting(session, words, WORDS).uid == made[which]


def test_found_by_the_letters_of_its_uid(journal: Journal) -> None:
    made = filled(journal)
    with journal.read() as session:
        assert find_planting(session, made["old"][:10], WORDS).uid == made["old"]


def test_several_are_listed(journal: Journal) -> None:
    filled(journal)
    with (
        journal.read() as session,
        pytest.raises(BadInput, match=r"fits 2 plantings: Bean .Blue Lake., North bed .*Bean, South"),
    ):
        find_planting(session, "green bean", WORDS)


@pytest.mark.parametrize("words", ["carrot", "", "in the", "tomato north"])
def test_none_fits(journal: Journal, words: str) -> None:
    filled(journal)
    with journal.read() as session, pytest.raises(BadInput, match="no planting fits"):
        find_planting(session, words, WORDS)


def test_crop_and_bed_make_a_planting_once(any_journal: Journal) -> None:
    uids = set()
    for bed in ("North bed", "north BED", "North bed"):
        with any_journal.write() as session:
            uids.add(planting_of(session, garden_named(session, "G"), "bean", bed, None, WORDS).uid)
    assert len(uids) == 1
    with any_journal.write() as session:
        other = planting_of(session, garden_named(session, "G"), "bean", "North bed", "Blue Lake", WORDS)
        assert other.uid not in uids
    with any_journal.write() as session, pytest.raises(BadInput, match="fits 2"):
        planting_of(session, garden_named(session, "G"), "bean", "North bed", None, WORDS)


def test_after_clearing_the_same_crop_is_a_new_planting(journal: Journal) -> None:
    with journal.write() as session:
        garden = garden_named(session, "G")
        first = planting_of(session, garden, "bean", "North bed", None, WORDS)
        first.removed = date(2026, 8, 1)
        session.flush()
        assert planting_of(session, garden, "bean", "North bed", None, WORDS).id != first.id


def test_labels_and_order(journal: Journal) -> None:
    filled(journal)
    with journal.read() as session:
        labels = [label(p, WORDS) for p in plantings(session, standing=True)]
        assert len(plantings(session)) == len(labels) + 1
        assert plantings(session, "Another garden") == []
    assert labels == [
        "Bean (Blue Lake), North bed",
        "Broad bean, North bed",
        "Bean, South bed",
        "Tomato (Roma), South bed",
    ]


def test_dates_that_go_backwards_are_refused(journal: Journal) -> None:
    with journal.write() as session, pytest.raises(BadInput, match="go backwards"):
        bed = bed_named(session, garden_named(session, "G"), "North bed")
        plant(session, bed, "bean", sown=date(2026, 5, 3), planted=date(2026, 5, 1))
