from __future__ import annotations

import json
import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from tests.cli.support import run
from tests.records.support import WAITS, WORDS, interview, verdict
from triage.cli import due, garden, journal, log, patch, plan
from triage.cli.shared import Shop
from triage.records.places import find_planting
from triage.records.visits import keep_visit

GARDEN = str(Path(__file__).parents[2] / "examples" / "weather" / "invented_garden.csv")
START = date(2026, 7, 2)
BEANS = ("--planting", "bean")
MITE = ("--cause", "two-spotted spider mite")


def day(n: int) -> date:
    return START + timedelta(days=n)


def planted(result: str | None = "clean", crop: str = "beans", variety: str = "Blue Lake") -> None:
    run(garden.command, "plant", crop, "--bed", "North bed", "--variety", variety, today=day(-9))
    run(patch.command, "start", "--planting", crop, today=day(-3))
    if result:
        run(patch.command, "result", result, "--planting", crop, today=day(-1))


def planned(*options: str, today: date = START) -> Any:
    return run(plan.command, *options, "--json", today=today).json()


def on(record: Any, kind: str = "spray") -> list[int]:
    return [(date.fromisoformat(step["on"]) - START).days for step in record["steps"] if step["kind"] == kind]


def stories() -> list[Any]:
    return [entry for entry in run(journal.command, "--all", "--json").lines() if entry["kind"] == "programme"]


# -- no go ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("result", "instead"), [(None, "triage patch result clean"), ("burnt", "Do not spray this crop with this mix.")]
)
def test_without_a_clean_patch_nothing_is_dated_or_kept(result: str | None, instead: str) -> None:
    planted(result)
    record = planned(*BEANS, *MITE)
    assert (record["go"], record["steps"], record["kept"]) == (False, [], False)
    text = " ".join(run(plan.command, *BEANS, *MITE, today=START).out.split())
    assert "Not yet." in text and instead in text and "Go." not in text and "Round" not in text
    assert stories() == []


def test_the_patch_of_another_crop_variety_or_mix_is_none() -> None:
    planted()
    run(garden.command, "plant", "beans", "--bed", "South bed", "--variety", "Cobra", today=day(-9))
    assert planned("--planting", "cobra", *MITE)["go"] is False
    assert planned("--planting", "blue lake", *MITE, "--mix", "soap only")["go"] is False
    assert planned("--planting", "blue lake", *MITE, "--oil", "0.5")["go"] is False
    assert planned("--planting", "blue lake", *MITE, "--no-keep")["go"] is True
    assert stories() == []


def test_a_cause_that_no_spray_helps_against_says_what_to_do() -> None:
    planted()
    record = planned(*BEANS, "--cause", "late blight")
    assert record["go"] is False and record["instead"] and not record["steps"]


# -- go ---------------------------------------------------------------------------------------


def test_three_rounds_every_three_days_and_the_words_around_them() -> None:
    planted()
    text = run(plan.command, *BEANS, *MITE, today=START, plain=False).out
    flat = " ".join(text.split())
    for words in ("Go.", "Jul 2026", "2S", "Round 1 of 3 (today)", "Stop when", "Take care", "Look at the newest"):
        assert words in flat, words
    assert max(map(len, text.splitlines())) <= 80
    plain = run(plan.command, today=START).out
    assert "Thu 2 Jul: Round 1 of 3 (today)" in plain and "─" not in plain and "Jul 2026" not in plain
    assert on(planned()) == [0, 3, 6, 13, 20, 30, 44]
    [kept] = stories()
    assert (kept["cause"], kept["mix"], kept["ended"]) == ("two_spotted_spider_mite", "home mix", None)
    assert "planned" in run(journal.command, "--all").out


def test_the_weather_sets_the_gap_moves_days_and_stays_known() -> None:
    planted()
    record = planned(*BEANS, *MITE, "--weather", GARDEN)
    assert record["gap"]["days"] == 6 and "in place of the usual 3" in record["gap"]["says"]
    assert on(record)[:3] == [0, 6, 12]
    assert planned()["steps"] == record["steps"]
    text = " ".join(run(plan.command, today=START).out.split())
    assert "Not every 3 days:" in text
    heat = planned("--start", "2026-07-04")
    assert heat["steps"][0]["on"] == "2026-07-08"
    assert {move["reason"] for move in heat["steps"][0]["moved"]} >= {"heat", "rain"}


def test_sprays_picking_and_sulfur_from_the_journal_move_the_rest() -> None:
    planted()
    planned(*BEANS, *MITE, "--harvest", "2026-07-06")
    assert on(planned())[:3] == [0, 5, 8]
    run(log.command, "spray", *BEANS, "--date", "today", today=START)
    run(log.command, "spray", *BEANS, today=day(7))
    record = planned(today=day(7))
    assert on(record)[:4] == [0, 7, 10, 13]  # too long a pause: three rounds anew
    assert [step["done"] for step in record["steps"][:3]] == [True, True, False]
    run(log.command, "spray", *BEANS, "--mix", "wettable sulfur", today=day(8))
    assert on(planned(today=day(8)))[2] == 8 + 30


def test_what_a_look_found_goes_on_or_ends_it() -> None:
    planted()
    planned(*BEANS, *MITE)
    for n in (0, 3, 6):
        run(log.command, "spray", *BEANS, today=day(n))
    assert on(planned("--found", "hit", today=day(9)))[3:6] == [9, 12, 15]
    # Said again for the same day: the later word counts.
    assert on(planned("--found", "clean", "--no-pests", today=day(9)))[3] == 16
    burnt = planned("--found", "burnt", today=day(10))
    assert burnt["stopped"] == "burnt" and not [step for step in burnt["steps"] if not step["done"]]
    assert "no more sprays" in run(due.command, today=day(10)).out
    assert "ended on" in run(plan.command, "--end", "leaves burnt", today=day(10)).out
    assert {item["kind"] for item in run(due.command, "--json", today=day(10)).lines()} <= {"patch"}


def test_a_patch_that_burns_late_stops_what_runs() -> None:
    planted()
    planned(*BEANS, *MITE)
    run(patch.command, "result", "burnt", today=day(4))
    record = planned(today=day(4))
    assert record["go"] is False and record["steps"] == []


def test_scent_mask_only_when_asked_for_and_said_to_be_unsupported() -> None:
    planted()
    record = planned(*BEANS, "--scent", "--no-keep")
    assert record["scent"] and on(record) == [0, 7, 14] and record["steps"][1]["until"] == day(10).isoformat()
    flat = " ".join(run(plan.command, *BEANS, "--scent", today=START).out.split())
    assert "Not supported:" in flat and "miresmailli_thesis" in flat


def visited(on: date, advice: str, cause: str = "two_spotted_spider_mite") -> None:
    """A visit with a verdict, kept as `triage ask` keeps it."""
    shop = Shop(plain=True, today=on)
    with shop.journal.write() as session:
        planting = find_planting(session, "bean", WORDS)
        judged = [(interview(), verdict("late_blight")), (interview(), verdict(cause, advice=advice))]
        keep_visit(session, planting, on, judged, WAITS, written=shop.journal.clock())
    shop.journal.close()


def test_the_last_visit_says_whether_and_a_later_one_may_end_it() -> None:
    planted()
    visited(START, "do_not_spray")
    assert planned(*BEANS, *MITE)["go"] is False
    visited(START, "spray")
    record = planned(*BEANS, *MITE)
    assert record["go"] is True and record["cause"] == "two_spotted_spider_mite"
    assert "the visit of 2 Jul 2026" in " ".join(run(plan.command, today=START).out.split())
    visited(day(1), "do_not_spray")
    assert planned(today=day(1))["stopped"] == "no_longer"


def test_verdict_from_a_file(tmp_path: Path) -> None:
    planted()
    given: dict[str, Any] = {
        "spray": {"advice": "check_first", "judgement": "kills_on_contact", "reason": "Not sure yet."},
        "causes": [{"id": "two_spotted_spider_mite", "name": "Two-spotted spider mite"}],
        "actions": [{"kind": "before_spray", "says": "Tap a leaf over white paper."}],
    }
    file = tmp_path / "verdict.json"
    file.write_text(json.dumps(given))
    record = planned(*BEANS, "--verdict", str(file))
    assert record["go"] is False and record["instead"][0] == "Tap a leaf over white paper."
    given["spray"]["advice"] = "spray"
    file.write_text(json.dumps(given))
    assert planned(*BEANS, "--verdict", str(file))["go"] is True
    file.write_text("{}")
    run(plan.command, *BEANS, "--anew", "--verdict", str(file), code=2, today=START)
    assert len(stories()) == 1 and stories()[0]["ended"] is None


def test_anew_ends_the_old_one() -> None:
    planted()
    planned(*BEANS, *MITE)
    ran = run(plan.command, *BEANS, *MITE, code=2, today=START)
    assert "--anew" in ran.err
    planned(*BEANS, *MITE, "--anew", today=day(1))
    assert [kept["ended"] for kept in stories()] == [day(1).isoformat(), None]


# -- due --------------------------------------------------------------------------------------


def test_due_shows_sprays_and_writes_them_down() -> None:
    planted()
    ref = planned(*BEANS, *MITE)["id"]
    items = [item for item in run(due.command, "--json", today=START).lines() if item["kind"] == "spray"]
    assert [(item["due"], item["step"]) for item in items] == [
        ("2026-07-02", "outbreak-1"), ("2026-07-05", "outbreak-2"), ("2026-07-08", "outbreak-3"),
    ]  # fmt: skip
    ran = run(due.command, "--done", ref[:6], today=day(1))
    assert "Kept: sprayed, 3 Jul 2026" in ran.out and "Next: Mon 6 Jul, round 2 of 3" in ran.out
    told = run(due.command, "--done", ref[:6], "--date", "yesterday", "--json", today=day(5)).json()
    assert (told["date"], told["next"]["on"]) == ("2026-07-06", "2026-07-09")
    run(due.command, "--done", ref[:6], today=day(7))
    assert "Next: Sun 12 Jul" in run(due.command, "--hit", ref[:6], today=day(10)).out
    spray = next(entry for entry in run(journal.command, "--all", "--json").lines() if entry["kind"] == "spray")
    assert (spray["round"], spray["cause"], spray["oil_percent"]) == (1, "two_spotted_spider_mite", 0.26)
    run(log.command, "undo", spray["id"][:6])
    assert run(due.command, "--json", today=day(10)).lines()


@pytest.mark.parametrize(("pressed", "day_done"), [("d", day(0)), ("y", day(-1)), ("later", None)])
def test_one_key_on_a_terminal(monkeypatch: pytest.MonkeyPatch, pressed: str, day_done: date | None) -> None:
    planted()
    planned(*BEANS, *MITE, "--start", "2026-07-01")
    asked: list[dict[str, str]] = []
    monkeypatch.setattr(due, "may_ask", lambda *_: True)
    monkeypatch.setattr("triage.screens.one_key.one_key", lambda _ask, keys, _plain: asked.append(keys) or pressed)
    out = run(due.command, "--days", "0", today=START).out
    assert [sorted(keys) for keys in asked] == [["d", "y"]]
    assert ("Kept: sprayed" in out) == (day_done is not None)
    sprays = [entry for entry in run(journal.command, "--all", "--json").lines() if entry["kind"] == "spray"]
    assert [entry["date"] for entry in sprays] == ([day_done.isoformat()] if day_done else [])


# -- calendar, slips --------------------------------------------------------------------------


def test_calendar_file_is_updated_not_doubled(tmp_path: Path) -> None:
    planted()
    file = tmp_path / "sprays.ics"
    planned(*BEANS, *MITE, "--calendar", str(file))
    first = file.read_bytes()
    planned("--calendar", str(file))
    assert file.read_bytes() == first
    run(log.command, "spray", *BEANS, today=day(2))
    planned("--calendar", str(file), today=day(2))
    before, after = (
        {str(event["uid"]): event for event in Calendar.from_ical(content).walk("VEVENT")}
        for content in (first, file.read_bytes())
    )
    assert before.keys() == after.keys() and len(after) == 9
    numbers = {event["sequence"] for event in after.values()}
    assert numbers == {1}
    dates = [event["dtstart"].dt for event in after.values()]
    assert dates[:3] == [day(2), day(5), day(8)]


def test_a_programme_not_kept_has_no_calendar(tmp_path: Path) -> None:
    planted(None)
    ran = run(plan.command, *BEANS, *MITE, "--calendar", str(tmp_path / "x.ics"), code=2, today=START)
    assert "only a programme that is kept" in ran.err and not (tmp_path / "x.ics").exists()


def test_slips_get_one_clear_line() -> None:
    planted()
    bean = ["--planting", "bean"]
    for options, says in (
        ([], "which planting?"),
        (bean, "nothing is known of the damage"),
        ([*bean, "--cause", "martians"], "martians"),
        (["--planting", "kale", *MITE], "no planting fits"),
        ([*bean, *MITE, "--no-pests"], "go with --found"),
        ([*bean, *MITE, "--weather", "none.csv"], "no such file"),
        ([*bean, *MITE, "--harvest", "soon"], "--harvest"),
        ([*bean, "--end", "enough"], "no programme runs"),
    ):
        ran = run(plan.command, *options, code=2, today=START)
        assert re.search(says, ran.err), ran.err
        assert "Traceback" not in ran.err
    assert stories() == []


def test_help_leads_with_an_example() -> None:
    text = run(plan.command, "--help").out
    assert text.index("Example:") < text.index("Options:")
    assert max(map(len, text.splitlines())) <= 80
