"""The forms of the journal and the garden, typed into as a person would."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output import DummyOutput

from triage.records.profile import Settings, load_profile
from triage.records.shapes import SHAPES
from triage.records.tables import ENTRIES
from triage.screens import log_forms
from triage.screens.console import screen
from triage.screens.garden_form import ask_profile

ENTER, DOWN, BACK, CTRL_C = "\r", "\x1b[B", "\x7f", "\x03"


@contextmanager
def typing(*keys: str) -> Iterator[None]:
    with create_pipe_input() as pipe:
        pipe.send_text("".join(keys))
        with create_app_session(input=pipe, output=DummyOutput()):
            yield


def test_forms_ask_only_for_what_an_entry_holds() -> None:
    for kind, form in log_forms.FORMS.items():
        shape = SHAPES[ENTRIES[kind].__tablename__]
        assert {field.name for field in form} <= set(shape.model_fields)


@pytest.mark.parametrize(
    "kind, keys, expected",
    [
        ("harvest", ["2,5", ENTER, "kg", ENTER, ENTER], {"amount": 2.5, "unit": "kg", "note": None}),
        ("spray", [ENTER] * 5, {"mix": "home mix", "volume_ml": None, "round": None, "weather": None, "note": None}),
        ("count", ["40", ENTER, "x", ENTER, BACK, "12", ENTER, ENTER, ENTER, DOWN, ENTER, ENTER],
         {"looked": 40, "infested": 12, "pests": None, "damage": None, "sprayed": False, "note": None}),
        ("note", [ENTER, "bees", ENTER], {"text": "bees"}),
        ("confirm", ["mites", ENTER, DOWN, ENTER, ENTER], {"cause": "mites", "by_whom": "lens", "note": None}),
    ],
)  # fmt: skip
def test_filled_from_the_keyboard(kind: str, keys: list[str], expected: dict[str, Any]) -> None:
    with typing(*keys):
        assert log_forms.fill(kind, {}, log_forms.READERS, plain=True, only_needed=False) == expected


def test_what_was_given_is_not_asked_for() -> None:
    with typing("done", ENTER):
        found = log_forms.fill("harvest", {"amount": 1.0, "unit": "kg"}, log_forms.READERS, True, only_needed=False)
    assert found == {"amount": 1.0, "unit": "kg", "note": "done"}
    assert log_forms.fill("harvest", {"unit": "kg"}, {}, True, only_needed=True) == {"unit": "kg"}


def test_day_is_asked_again_until_it_is_one() -> None:
    with typing("3/8/2026", ENTER, BACK * 8, "last tuesday", ENTER):
        assert log_forms.ask_day(date(2026, 8, 5), plain=True) == date(2026, 8, 4)
    with typing(ENTER):
        assert log_forms.ask_day(date(2026, 8, 5), plain=True) == date(2026, 8, 5)


def test_choosing_a_planting_or_another_one() -> None:
    choices = [("a", "Bean, North bed"), ("b", "Tomato, South bed")]
    for keys, expected in (([DOWN, ENTER], "b"), ([DOWN, DOWN, ENTER], None)):
        with typing(*keys):
            assert log_forms.choose_planting(choices, plain=True) == expected


def test_ctrl_c_leaves_the_form() -> None:
    with typing("2", CTRL_C), pytest.raises(KeyboardInterrupt):
        log_forms.fill("harvest", {}, log_forms.READERS, plain=True, only_needed=False)


@pytest.fixture
def check(tmp_path: Path) -> Callable[[dict[str, Any]], None]:
    def checked(one: dict[str, Any]) -> None:
        load_profile(tmp_path / "none.toml", {}, one)

    return checked


def test_garden_from_nothing(check: Callable[[dict[str, Any]], None]) -> None:
    keys = [
        "Club", ENTER, DOWN, ENTER, "britain", ENTER, BACK * 7, "gb", ENTER, ENTER, ENTER, "A, B", ENTER, "8 L", ENTER,
        DOWN, ENTER, ENTER, "Ana", ENTER,
    ]  # fmt: skip
    with typing(*keys):
        found = ask_profile(Settings(), check, screen(plain=True))
    assert Settings.model_validate({key: value for key, value in found.items() if value}) == Settings(
        name="Club", region="north_america", country="GB", hemisphere="north", units="metric", beds=("A", "B"),
        tank="8 L", soap="detergent", observer="Ana",
    )  # fmt: skip


def test_garden_kept_by_enter_and_emptied_by_a_dash(check: Callable[[dict[str, Any]], None]) -> None:
    now = Settings(
        name="Club", region="asia", country="IN", hemisphere="south", units="us", beds=("A",), tank="8 L", soap="plain",
        oils=("peppermint",), observer="Ana",
    )  # fmt: skip
    with typing(*[ENTER] * 6, "-", ENTER, *[ENTER] * 3):
        found = ask_profile(now, check, screen(plain=True))
    assert found.pop("tank") is None
    kept = now.model_dump(mode="json", exclude={"tank", "journal"})
    assert found == {**kept, "beds": "A", "oils": "peppermint"}
