from __future__ import annotations

import re
from typing import Any

import pytest

from tests.cli.support import run
from triage.cli import garden, journal, log

BEANS = ("--crop", "beans", "--bed", "North bed")


def logged(kind: str, *options: str) -> Any:
    return run(log.command, kind, *options, "--json").json()


def story() -> list[Any]:
    return run(journal.command, "--all", "--json").lines()


@pytest.mark.parametrize(
    "kind, options, expected",
    [
        (
            "spray",
            ["--volume", "1.5 L", "--round", "2", "--oil", "0.26"],
            {"mix": "home mix", "volume_ml": 1500, "round": 2},
        ),
        ("spray", ["--mix", "soap only", "--volume", "1 US gal"], {"mix": "soap only", "volume_ml": 3785.412}),
        ("spray", ["--against", "two-spotted spider mite"], {"cause": "two_spotted_spider_mite"}),
        (
            "count",
            ["--looked", "40", "--infested", "12", "--unsprayed"],
            {"looked": 40, "infested": 12, "sprayed": False},
        ),
        ("count", ["--damage", "12.5", "--sprayed"], {"damage": 12.5, "sprayed": True, "looked": None}),
        ("action", ["--what", "net put on", "--means", "cover"], {"what": "net put on", "means": "cover"}),
        ("harvest", ["--amount", "2.5", "--unit", "kg"], {"amount": 2.5, "unit": "kg"}),
        ("note", ["--text", " lady beetles "], {"text": "lady beetles"}),
        ("confirm", ["--cause", "late blight", "--how", "laboratory"], {"by_whom": "laboratory", "case": None}),
    ],
)
def test_every_kind_from_options(kind: str, options: list[str], expected: dict[str, Any]) -> None:
    record = logged(kind, *BEANS, *options, "--by", "Ana", "--date", "yesterday")
    assert {key: record[key] for key in expected} == expected
    assert (record["kind"], record["date"], record["observer"]) == (kind, "2026-08-04", "Ana")
    [told] = story()
    assert {key: told[key] for key in record} == record
    assert (told["crop"], told["bed"]) == ("bean", "North bed")


def test_what_was_kept_is_said_with_the_way_to_mend_it() -> None:
    ran = run(log.command, "harvest", *BEANS, "--amount", "2", "--unit", "kg", "--date", "last tuesday")
    assert ran.out == "Kept: picked, 4 Aug 2026, Bean, North bed: 2 kg.\n"
    assert ran.err.startswith("Wrong? triage log undo ")


@pytest.mark.parametrize(
    "options, says",
    [
        (["note", "--text", "x"], "which planting?"),
        (["note", "--text", "x", "--crop", "bean"], "--crop and --bed go together"),
        (["note", "--text", "x", "--crop", "beam", "--bed", "b"], "no crop is called 'beam' .did you mean bean"),
        (["note", "--text", "x", "--planting", "kale"], "no planting fits 'kale'"),
        (["note", *BEANS], "text: is missing"),
        (["note", *BEANS, "--text", "x", "--date", "tomorrow"], "a day to come"),
        (["note", *BEANS, "--text", "x", "--date", "3/8/2026"], "two ways"),
        (["count", *BEANS, "--looked", "4", "--infested", "5"], "5 leaves infested of 4"),
        (["count", *BEANS], "a count needs"),
        (["spray", *BEANS, "--volume", "a lot"], "--volume"),
        (["confirm", *BEANS, "--cause", "martians", "--how", "lens"], "martians"),
        (["undo"], "nothing is written down yet"),
        (["undo", "ffff99"], "no entry begins with"),
        (["edit"], "nothing to change"),
        (["edit", "--set", "volume"], "is no FIELD=VALUE"),
    ],
)
def test_slips_are_told_and_nothing_is_written(options: list[str], says: str) -> None:
    ran = run(log.command, *options, code=2)
    assert re.search(says, ran.err), ran.err
    assert ran.out == "" and "Traceback" not in ran.err
    assert story() == []
    assert run(garden.command, "plantings", "--json").lines() == []


def test_undo_the_last_or_the_named() -> None:
    first = logged("note", *BEANS, "--text", "first")["id"]
    logged("note", *BEANS, "--text", "second")
    assert run(log.command, "undo").out.startswith("Taken back: note")
    assert [record["text"] for record in story()] == ["first"]
    assert run(log.command, "undo", first[:6], "--by", "Ben", "--json").json()["text"] == "first"
    assert story() == []
    traces = run(journal.command, "--trace", "--json").lines()
    assert [(trace["change"], trace["who"]) for trace in traces] == [("undo", None), ("undo", "Ben")]
    assert "taken back by Ben: notes" in " ".join(run(journal.command, "--trace").out.split())


def test_edit_fields_as_options_would_give_them() -> None:
    run(garden.command, "plant", "tomato", "--bed", "South bed")
    ref = logged("spray", *BEANS, "--volume", "1 L", "--weather", "calm")["id"][:8]
    sets = ("volume=2 L", "date=last monday", "weather=", "planting=tomato", "cause=late blight", "round=3")
    after = run(log.command, "edit", ref, *(f"--set={one}" for one in sets), "--json").json()
    expected = {"volume_ml": 2000, "date": "2026-08-03", "weather": None, "round": 3, "cause": "late_blight"}
    assert {key: after[key] for key in expected} == expected
    assert story()[0]["crop"] == "tomato"
    [trace] = run(journal.command, "--trace", "--json").lines()
    assert (trace["before"]["volume_ml"], trace["after"]["volume_ml"]) == (1000, 2000)
    assert "volume_ml 1000.0 became 2000.0" in " ".join(run(journal.command, "--trace").out.split())


@pytest.mark.parametrize("one", ["round=0", "colour=red", "date=tomorrow", "planting=kale", "mix="])
def test_edit_that_cannot_be_changes_nothing(one: str) -> None:
    logged("spray", *BEANS)
    before = story()
    run(log.command, "edit", "--set", one, code=2)
    assert story() == before


def test_observer_comes_from_the_profile_or_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    run(garden.command, "--observer", "Ana")
    assert logged("note", *BEANS, "--text", "x")["observer"] == "Ana"
    monkeypatch.setenv("TRIAGE_OBSERVER", "Ben")
    assert logged("note", *BEANS, "--text", "x")["observer"] == "Ben"
    assert logged("note", *BEANS, "--text", "x", "--by", "Cleo")["observer"] == "Cleo"


@pytest.mark.parametrize("name", ["spray", "count", "action", "harvest", "note", "confirm", "undo", "edit"])
def test_help_leads_with_an_example(name: str) -> None:
    text = run(log.command, name, "--help").out
    assert text.index("Example:") < text.index("Options:")
    assert f"triage log {name}" in text
    assert max(map(len, text.splitlines())) <= 80
