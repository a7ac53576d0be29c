"""The invented example garden: as it is handed on, and as its script makes it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.support import run
from triage.cli.garden import command as garden
from triage.cli.journal import command as journal
from triage.reasoning.engine import Engine
from triage.reasoning.interview import from_data
from triage.reasoning.verdict import judge
from triage.reasoning.verdict_model import Verdict
from triage.records.profile import load_profile

EXAMPLES = Path(__file__).parents[2] / "examples"
HELD = EXAMPLES / "garden" / "journal.json"


def test_it_lands_in_a_journal_of_its_own(tmp_path: Path) -> None:
    where = tmp_path / "hollow-lane.db"
    assert "invented rows" in run(garden, "example", str(where)).out
    assert "never mixed" in run(garden, "example", str(where), code=2).err
    again = run(journal, "import", str(HELD), "--journal", str(where), "--json").json()
    assert (again["added"], again["replaced"]) == (0, 0)
    assert "Nothing is written down" in run(journal, "--all").out, "the grower's own journal stays empty"


def test_it_is_small_and_plainly_invented() -> None:
    tables = json.loads(HELD.read_text())["tables"]
    assert HELD.stat().st_size <= 400_000
    [place] = tables["gardens"]
    assert "(invented)" in place["name"]
    assert load_profile(EXAMPLES / "garden" / "garden.toml", {}).settings.name == place["name"]
    rows = [row for name in ("visits", "counts", "sprays", "harvests") for row in tables[name]]
    assert len({row["date"][:4] for row in rows}) == 3
    people = {row["observer"] for row in rows}
    assert 3 <= len(people) <= 4 and all(name.startswith("Observer ") for name in people)
    assert {True, False} == {row["sprayed"] for row in tables["counts"]}
    assert tables["test_patches"] and tables["confirmations"] and tables["actions"]


def test_its_verdicts_are_real(engine: Engine) -> None:
    """The knowledge grows on; the class must still come out, or the file is to be made anew."""
    cases = json.loads(HELD.read_text())["tables"]["cases"]
    told = {json.dumps(case["answers"], sort_keys=True): case for case in cases}
    for case in told.values():
        Verdict.model_validate({**case["verdict"], "causes": [
            {**one, "class_id": one["class"]} for one in case["verdict"]["causes"]]})  # fmt: skip
    same = [
        judge(from_data(case["answers"], engine.knowledge, "example").case, engine).leading.class_id == case["class_id"]
        for case in told.values()
    ]
    assert sum(same) >= 0.9 * len(same)


def test_the_script_makes_the_file_again(tmp_path: Path, engine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    """What the knowledge has no part in is the same to the letter: dates and chance are fixed."""
    monkeypatch.syspath_prepend(str(EXAMPLES))
    import make_garden

    make_garden.make(tmp_path / "again.json", engine)
    new, held = (json.loads(path.read_text())["tables"] for path in (tmp_path / "again.json", HELD))
    for table in ("gardens", "beds", "plantings", "harvests", "test_patches", "notes"):
        assert new[table] == held[table], f"{table} differ: run examples/make_garden.py"
    assert len(new["visits"]) == len(held["visits"])
