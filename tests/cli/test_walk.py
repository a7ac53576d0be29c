"""`triage walk` for scripts: the work list of a day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tests.cli.support import TODAY, run
from tests.conftest import case_of
from tests.records.support import WAITS
from triage.cli.walk import command
from triage.reasoning.engine import Engine
from triage.reasoning.interview import Interview
from triage.reasoning.verdict import judge
from triage.records.entries import add
from triage.records.places import bed_named, garden_named, plant
from triage.records.store import open_journal
from triage.records.tables import Planting
from triage.records.visits import keep_visit

MITES = {"pattern": "pale_stippling", "creature": "slow_specks", "motion": "slow_crawl", "tap_test": "crawling_specks"}
SLIME = {"pattern": "ragged_holes", "trace": "slime_trail", "feeding_time": "night"}
RINGS = {"pattern": "ringed_spots", "position": "oldest_lowest", "spread": "bottom_up", "creature": "none_found"}

Look = Callable[..., None]


@pytest.fixture
def look(tmp_path: Path, engine: Engine) -> Iterator[Look]:
    """Writes down a look at a planting: `look("bean", days_ago, [answers, ...])`."""
    journal = open_journal(tmp_path / "data" / "leaf-triage" / "journal.db", tmp_path / "backups")
    known: dict[str, int] = {}

    def write(crop: str, ago: int, *damage: dict[str, str], patch: str | None = None, **context: str) -> None:
        with journal.write() as session:
            if crop not in known:
                bed = bed_named(session, garden_named(session, "My garden"), f"{crop} bed")
                known[crop] = plant(session, bed, crop).id
            planting = session.get_one(Planting, known[crop])
            cases = [
                case_of(engine.knowledge, crop=crop, month=8, answers=answers, context={"severity": "some", **context})
                for answers in damage
            ]
            judged = [(Interview(case), judge(case, engine)) for case in cases]
            day = TODAY - timedelta(days=ago)
            keep_visit(session, planting, day, judged, WAITS, written=journal.clock())
            if patch:
                data = {"date": day, "mix": "home mix", "look_on": day, "result": patch}
                add(session, "patch", planting, data, journal.clock())

    yield write
    journal.close()


def groups(*arguments: str) -> dict[str, list[str]]:
    found = run(command, "--list", "--json", *arguments).json()
    return {group["means"]: [plant["crop"] for plant in group["plants"]] for group in found["groups"]}


def test_grouped_by_means_from_healthy_to_sick(look: Look) -> None:
    look("potato", 0, RINGS)
    look("bean", 0, MITES, test_patch="clean")
    look("lettuce", 0, SLIME)
    look("kale", 0)
    look("tomato", 1, SLIME)
    found = run(command, "--list", "--json").json()
    assert list(groups().items()) == [("bait", ["lettuce"]), ("spray", ["bean"]), ("take_off", ["potato"])]
    assert [one["crop"] for one in found["fine"]] == ["kale"]
    assert [one["crop"] for one in found["not_seen"]] == ["tomato"]
    assert found["mix"] is None


def test_what_changed_since_the_look_before(look: Look) -> None:
    look("bean", 7, MITES, new_growth="affected")
    look("bean", 0, MITES, new_growth="clean", test_patch="clean", severity="few")
    look("lettuce", 3, SLIME)
    look("lettuce", 0)
    look("kale", 3)
    look("kale", 0)
    changed = {one["crop"]: one["says"] for one in run(command, "--list", "--json").json()["changed"]}
    assert set(changed) == {"bean", "lettuce"}
    assert "is less" in changed["bean"] and "new growth is clean now" in changed["bean"]
    assert changed["lettuce"].startswith("gone: Slugs")


def test_a_burnt_test_patch_is_never_sprayed(look: Look) -> None:
    look("bean", 0, MITES, test_patch="clean", patch="burnt")
    assert "spray" not in groups()


def test_one_batch_for_all_that_is_sprayed(look: Look) -> None:
    look("bean", 0, MITES, test_patch="clean")
    look("cucumber", 0, MITES, test_patch="clean")
    mix = run(command, "--list", "--json", "--plants", "bean=10", "--plants", "cucumber=2").json()["mix"]
    assert run(command, "--list", "--json").json()["mix"] == mix, "the numbers are remembered"
    shown = run(command, "--list").out
    assert "For 12 plants about" in shown
    assert "Patch first" in shown
    assert "Take care" in shown


@pytest.mark.parametrize(
    "arguments, told",
    [
        (["--list", "--plants", "bean"], "is no WORDS=N"),
        (["--list", "--plants", "quince=3"], "no planting fits"),
        (["--json"], "go with --list"),
        ([], "needs a terminal"),
    ],
)
def test_bad_input_is_one_clear_line(look: Look, arguments: list[str], told: str) -> None:
    look("bean", 0, MITES)
    ran = run(command, *arguments, code=2)
    assert told in ran.err and len(ran.err.splitlines()) == 1


def test_a_day_without_a_look(look: Look) -> None:
    look("bean", 0)
    assert "Nothing was looked at" in run(command, "--list", "--date", "yesterday").out
