from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from tests.cli.support import run
from tests.screens.terminal import Terminal
from triage.cli import garden, journal, patch, plan


def test_a_spray_is_written_down_with_one_key(tmp_path: Path) -> None:
    today = date.today()
    before = today - timedelta(days=3)
    run(garden.command, "plant", "bean", "--bed", "North bed", today=before)
    run(patch.command, "start", "--planting", "bean", today=before)
    run(patch.command, "result", "clean", today=today)
    run(plan.command, "--planting", "bean", "--cause", "two-spotted spider mite", today=today)
    terminal = Terminal("due", "--days", "0", folder=tmp_path)
    terminal.shows("d done today")
    terminal.type("z", "d")  # any other key does nothing
    terminal.shows("Next:")
    assert terminal.ends() == 0
    kept = [entry for entry in run(journal.command, "--all", "--json").lines() if entry["kind"] == "spray"]
    assert [(entry["date"], entry["round"]) for entry in kept] == [(today.isoformat(), 1)]
