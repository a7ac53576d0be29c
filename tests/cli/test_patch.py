from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from tests.cli.support import TODAY, run
from triage.cli import due, garden, journal, log, patch
from triage.reasoning.library import knowledge_folder
from triage.spraying.programme_knowledge import load_programme

BEANS = ("--crop", "beans", "--bed", "North bed")
RULES = load_programme(knowledge_folder()).test_patch


def started(*options: str) -> Any:
    return run(patch.command, "start", *(options or BEANS), "--json").json()


def waiting(today: date) -> list[tuple[str, str]]:
    return [(item["due"], item["says"]) for item in run(due.command, "--json", today=today).lines()]


def test_start_notes_the_mix_its_strength_and_both_looks() -> None:
    record = started(*BEANS, "--by", "Ana")
    assert (record["mix"], record["oil_percent"], record["soap_percent"]) == ("home mix", 0.26, 0.39)
    assert (record["plants"], record["look_on"], record["result"]) == (RULES.plants, "2026-08-07", None)
    assert record["looks"] == ["2026-08-07", "2026-08-12"]
    assert (record["date"], record["observer"]) == ("2026-08-05", "Ana")
    other = started("--planting", "bean", "--mix", "soap only", "--soap", "1", "--plants", "1")
    assert (other["mix"], other["oil_percent"], other["soap_percent"], other["plants"]) == ("soap only", None, 1, 1)


def test_start_says_when_to_look_and_what_to_mind() -> None:
    text = run(patch.command, "start", *BEANS).out
    flat = " ".join(text.split())
    for words in ("Kept: patch", "Fri 7 Aug", "Wed 12 Aug", "shortest of the published waits", "up to a week",
                  "Take care", "triage patch result clean"):  # fmt: skip
        assert words in flat, words
    assert max(map(len, text.splitlines())) <= 80


def test_clean_waits_for_its_time_and_is_looked_at_twice() -> None:
    started()
    assert waiting(date(2026, 8, 7))[0][0] == "2026-08-07"
    early = run(patch.command, "result", "clean", code=2, today=date(2026, 8, 6))
    assert "too soon" in early.err and "2026-08-07" in early.err
    record = run(patch.command, "result", "clean", "--json", today=date(2026, 8, 7)).json()
    assert (record["result"], record["looked_on"], record["look_on"]) == ("clean", "2026-08-07", "2026-08-12")
    assert waiting(date(2026, 8, 12)) == [("2026-08-12", "look once more at the patch of home mix")]
    run(patch.command, "result", "burnt", today=date(2026, 8, 12))
    assert waiting(date(2026, 8, 20)) == []
    [told] = run(journal.command, "--all", "--json").lines()
    assert (told["kind"], told["result"], told["looked_on"]) == ("patch", "burnt", "2026-08-12")
    assert len(run(journal.command, "--trace", "--json").lines()) == 2


def test_burnt_may_be_said_at_once_and_says_what_to_do() -> None:
    started()
    flat = " ".join(run(patch.command, "result", "burnt").out.split())
    assert RULES.if_burnt in flat and "triage plan" not in flat


def test_which_patch_is_meant() -> None:
    first = started()["id"]
    started("--crop", "kale", "--bed", "South bed")
    later = date(2026, 8, 8)
    several = run(patch.command, "result", "clean", code=2, today=later)
    assert "2 patches are waiting" in several.err and first[:6] in several.err
    assert run(patch.command, "result", "clean", first[:6], "--json", today=later).json()["id"] == first
    assert run(patch.command, "result", "clean", *BEANS, "--json", today=later).json()["id"] == first
    kale = run(patch.command, "result", "burnt", "--planting", "kale", "--json", today=later).json()
    assert kale["result"] == "burnt"
    note = run(log.command, "note", *BEANS, "--text", "x", "--json").json()["id"]
    assert "is no test patch" in run(patch.command, "result", "clean", note[:6], code=2).err


def test_slips_are_told_and_nothing_is_written() -> None:
    for options, says in (
        (["start"], "which planting?"),
        (["start", *BEANS, "--date", "tomorrow"], "a day to come"),
        (["start", *BEANS, "--oil", "200"], "oil_percent"),
        (["result", "clean"], "no test patch is waiting"),
        (["result", "clean", "ffff99"], "no entry begins with"),
    ):
        ran = run(patch.command, *options, code=2, today=TODAY)
        assert re.search(says, ran.err), ran.err
    assert run(journal.command, "--all", "--json").lines() == []
    assert run(garden.command, "plantings", "--json").lines() == []


@pytest.mark.parametrize("name", ["start", "result"])
def test_help_leads_with_an_example(name: str) -> None:
    text = run(patch.command, name, "--help").out
    assert text.index("Example:") < text.index("Options:")
    assert max(map(len, text.splitlines())) <= 80
