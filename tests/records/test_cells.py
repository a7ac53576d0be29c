from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.records.cells import from_cell, guard, to_cell, unguard

#: Short texts out of the characters that matter, and any text.
TEXTS = st.text(alphabet="'=+-@＝ \t\r\n\",;a1", max_size=6) | st.text(max_size=40)


@given(TEXTS)
def test_guarding_is_taken_back_exactly(text: str) -> None:
    assert unguard(guard(text)) == text


@given(TEXTS)
def test_no_guarded_text_begins_a_formula(text: str) -> None:
    assert not guard(text).lstrip(" ").startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"))


@pytest.mark.parametrize(
    "text, cell",
    [
        ("=1+1", "'=1+1"),
        ("  @sum", "'  @sum"),
        ("-2 C at night", "'-2 C at night"),
        ("'=1", "''=1"),
        ("'tis fine", "''tis fine"),
        ("5 kg", "5 kg"),
    ],
)
def test_cells(text: str, cell: str) -> None:
    assert to_cell(text) == cell


def test_apostrophe_of_a_person_stays() -> None:
    assert from_cell("'tis fine", holds_json=False) == "'tis fine"


def test_numbers_yes_and_nothing() -> None:
    assert [to_cell(value) for value in (True, False, None, 3, -2.5)] == ["true", "false", "", 3, -2.5]
    assert from_cell("", holds_json=True) is None
