"""Exports against readers that are not ours: Python's csv and json modules (RFC 4180, RFC 8259), and pandas."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from tests.records.fixtures import empty_journal, journal
from tests.records.test_transfer import bring, everything, fill, out
from triage.records.cells import unguard
from triage.records.store import Journal, open_journal
from triage.records.tables import TABLES

__all__ = ["empty_journal", "journal"]


def test_json_module_reads_what_stands_there(journal: Journal, tmp_path: Path) -> None:
    """RFC 8259: what the json module reads is what was written."""
    fill(journal)
    with out(journal, tmp_path / "all.json").open(encoding="utf-8") as file:
        assert json.load(file)["tables"] == everything(journal)


def test_csv_module_reads_what_stands_there(journal: Journal, tmp_path: Path) -> None:
    """RFC 4180 as the csv module reads it: cells with commas, quotes and line ends come back."""
    fill(journal)
    folder = out(journal, tmp_path / "csv")
    for table, rows in everything(journal).items():
        with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            found = list(csv.DictReader(file))
        assert [list(row) for row in found] == [list(row) for row in rows]
        for read, row in zip(found, rows, strict=True):
            assert {key: told(value, row[key]) for key, value in read.items()} == row, table


def told(cell: str, like: Any) -> Any:
    """A cell as the value it stands for, without this project's reader."""
    if like is None:
        assert cell == ""
        return None
    if isinstance(like, bool):
        return cell == "true"
    if isinstance(like, int | float):
        return type(like)(cell)
    return json.loads(cell) if isinstance(like, dict) else unguard(cell)


def test_no_cell_would_run_as_a_formula(journal: Journal, tmp_path: Path) -> None:
    """OWASP, "CSV Injection": cells must not begin with = + - @, tab or return (list from memory)."""
    fill(journal)
    folder = out(journal, tmp_path / "csv")
    cells = 0
    for path in folder.iterdir():
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.reader(file):
                for cell in row:
                    cells += 1
                    assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell
    assert cells > 100


def test_pandas_reads_the_columns(journal: Journal, tmp_path: Path) -> None:
    """pandas.read_csv with dates parsed: sums and days agree with the journal."""
    fill(journal)
    folder = out(journal, tmp_path / "csv")
    found = pd.read_csv(folder / "harvests.csv", parse_dates=["date"], dtype={"unit": str})
    rows = everything(journal)["harvests"]
    assert list(found["amount"]) == [row["amount"] for row in rows]
    assert [stamp.date() for stamp in found["date"]] == [date.fromisoformat(row["date"]) for row in rows]
    assert found["unit"][0] == "007"
    assert {path.stem: len(pd.read_csv(path)) for path in folder.iterdir()} == {
        table: len(rows) for table, rows in everything(journal).items()
    }


@pytest.mark.parametrize("form", ["csv", "json"])
def test_what_pandas_writes_is_taken_in_and_changes_nothing(journal: Journal, tmp_path: Path, form: str) -> None:
    """A table opened in pandas and saved again (numbers with gaps become 3.0) is the same table."""
    fill(journal)
    folder = out(journal, tmp_path / "csv")
    kept = {"keep_default_na": False, "na_values": {"infested": "", "pests": "", "amount": ""}}
    for table in ("counts", "harvests", "sprays"):
        frame = pd.read_csv(folder / f"{table}.csv", dtype={"unit": str, "weather": str}, **kept)
        if form == "csv":
            frame.to_csv(folder / f"{table}.csv", index=False)
            source = folder / f"{table}.csv"
        else:
            rows = frame.astype(object).where(frame.notna(), None).to_dict(orient="records")
            for row in rows:
                row |= {key: unguard(value) or None for key, value in row.items() if isinstance(value, str)}
            source = tmp_path / f"{table}.json"
            source.write_text(json.dumps({"format": "leaf-triage journal", "schema": "0001", "tables": {table: rows}}))
        before = everything(journal)
        taken = bring(journal, source)
        assert (taken.added, taken.replaced, taken.older, taken.same) == (0, 0, 0, len(before[table]))
        assert everything(journal) == before


def test_tables_written_by_pandas_fill_an_empty_journal(journal: Journal, tmp_path: Path) -> None:
    fill(journal)
    folder = out(journal, tmp_path / "csv")
    for path in folder.iterdir():
        pd.read_csv(path, dtype=str, keep_default_na=False).to_csv(path, index=False, lineterminator="\n")
    other = open_journal(tmp_path / "other.db", tmp_path / "backups")
    bring(other, folder)
    assert everything(other) == everything(journal)
    assert set(everything(other)) == set(TABLES)
    other.close()
