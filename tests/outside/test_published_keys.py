"""The published separating keys, row by row: the class must be right in every row.

The rows stand in keys/*.yaml with the sources they come from; the wording and the
translation into cues are ours.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from triage.reasoning.case import read_visit
from triage.reasoning.verdict import judge
from triage.reasoning.yaml_text import parse

_FOLDER = Path(__file__).parent / "keys"


def _rows() -> list[tuple[str, dict[str, Any]]]:
    return [
        (path.stem, row)
        for path in sorted(_FOLDER.glob("*.yaml"))
        for row in parse(path.read_text(encoding="utf-8"), path.name)["cases"]
    ]


@pytest.mark.parametrize(
    ("key", "row"), [r for r in _rows() if r[0] != "mobility"], ids=lambda x: x if isinstance(x, str) else x["id"]
)
def test_each_row_of_a_published_key_gives_its_class(engine, key: str, row: dict[str, Any]) -> None:
    [case] = read_visit(row["case"], engine.knowledge, row["id"])
    verdict = judge(case, engine)
    expected = row["expect_class"] if isinstance(row["expect_class"], list) else [row["expect_class"]]
    assert verdict.classes[0].id in expected, [(c.id, round(c.probability, 2)) for c in verdict.causes[:4]]


@pytest.mark.parametrize("row", [r for key, r in _rows() if key == "mobility"], ids=lambda row: row["id"])
def test_each_nutrient_shows_where_its_mobility_says(engine, row: dict[str, Any]) -> None:
    """The first-leaf pattern of each nutrient gives that nutrient or its published confusions."""
    [case] = read_visit(row["case"], engine.knowledge, row["id"])
    verdict = judge(case, engine)
    assert verdict.leading.id in row["expect_causes"], [(c.id, round(c.probability, 2)) for c in verdict.causes[:4]]


def test_every_key_and_every_nutrient_is_there() -> None:
    count: dict[str, int] = {}
    for key, row in _rows():
        count[key] = count.get(key, 0) + 1
        assert row["sources"], row["id"]
    assert count["mobility"] >= 12
    assert set(count) == {"holes", "spots_and_powders", "caterpillars", "nutrients", "mobility", "mites_and_lookalikes"}
    assert sum(count.values()) >= 160


def test_causes_are_named_too(engine) -> None:
    """Of the rows that name causes for the crop chosen, nine in ten bring one of them to the top."""
    right = told = 0
    for _, row in _rows():
        if row["expect_causes"]:
            [case] = read_visit(row["case"], engine.knowledge, row["id"])
            told += 1
            right += judge(case, engine).leading.id in row["expect_causes"]
    assert right / told >= 0.9, f"{right} of {told}"
