from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.records.fixtures import beans
from tests.records.support import WAITS, WORDS, interview, verdict
from triage.reasoning.yaml_text import BadInput
from triage.records.entries import add
from triage.records.places import bed_named, garden_named, plant, plantings
from triage.records.store import Journal
from triage.records.visits import keep_visit
from triage.records.walk import Round, Stop, in_order, past_of, read_round

DAY = date(2026, 8, 3)


@given(st.lists(st.sampled_from(["on", "back"]), max_size=20))
def test_a_walk_goes_on_and_back_and_survives_its_draft(moves: list[str]) -> None:
    walk = Round(DAY, "Observer Plum", ("a", "b", "c"))
    steps = 0
    for move in moves:
        if move == "on" and walk.at is not None:
            walk, steps = walk.after(walk.at, Stop("fine", (f"visit of {walk.at}",))), steps + 1
        elif move == "back":
            walk, stop = walk.back()
            assert (stop is None) == (steps == 0)
            steps = max(0, steps - 1)
        assert walk.at == (*walk.order, None)[steps]
        assert read_round(walk.data()) == walk


@pytest.mark.parametrize("damaged", [None, {}, [], {"day": "x"}, {"done": [["a"]], "day": "2026-08-03"}])
def test_a_damaged_draft_is_no_walk(damaged: object) -> None:
    assert read_round(damaged) is None


def test_order_bed_by_bed_or_as_named(journal: Journal) -> None:
    beans(journal)
    with journal.write() as session:
        garden = garden_named(session, "School garden")
        tomatoes = plant(session, bed_named(session, garden, "South bed"), "tomato")
        broad = plant(session, bed_named(session, garden, "North bed"), "broad_bean")
        standing = plantings(session)
        assert [p.crop for p in in_order(session, standing, [], WORDS)] == ["bean", "broad_bean", "tomato"]
        named = in_order(session, standing, ["tomato", "north bed", "broad bean"], WORDS)
        assert [p.id for p in named[::2]] == [tomatoes.id, broad.id] and len(named) == 3
        with pytest.raises(BadInput, match="no planting fits"):
            in_order(session, standing, ["quince"], WORDS)


def test_the_past_is_what_was_known_on_that_day(any_journal: Journal) -> None:
    planting = beans(any_journal)
    with any_journal.write() as session:
        for day, judged in ((DAY, [(interview(), verdict())]), (DAY.replace(day=10), [])):
            keep_visit(session, planting, day, judged, WAITS, written=any_journal.clock())
        for day in (2, 4, 5):
            add(session, "spray", planting, {"date": DAY.replace(day=day), "mix": "home mix"}, any_journal.clock())
    with any_journal.read() as session:
        past = past_of(session, planting, DAY.replace(day=4))
        assert [case.cause for case in past.trouble] == ["two_spotted_spider_mite"]
        assert [spray.date.day for spray in past.sprays] == [4]
        assert past.test_patch is None
        assert past_of(session, planting, DAY.replace(day=1)).visit is None
        assert past_of(session, planting, DAY.replace(day=10)).trouble == []
