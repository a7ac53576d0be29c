"""Which lists the interview shows, without a terminal."""

from __future__ import annotations

import pytest

from triage.reasoning.case import Case, Tick
from triage.reasoning.interview import Interview, step
from triage.screens import asking, console, prompts


@pytest.mark.parametrize("crop", ["tomato", "other"])
def test_every_answer_of_every_question_can_be_reached(engine, monkeypatch, crop: str) -> None:
    """No list is empty, also where a long question has no headings; all headings together show all answers."""
    shown: set[str] = set()

    def take_all(ask, options, plain, helps):
        assert options, ask
        shown.update(option.value for option in options)
        return tuple(Tick(option.value) for option in options)

    monkeypatch.setattr(prompts, "pick_one", take_all)
    monkeypatch.setattr(prompts, "pick_several", take_all)
    interview = Interview(Case(crop=crop))
    _, belief, _ = step(interview, engine)
    asker = asking.Asker(engine, console.screen(plain=True), keep=lambda _: None)
    for name, cue in engine.knowledge.cues.items():
        shown.clear()
        asker._ask(name, interview, belief)
        assert set(cue.answers) <= shown, name


def test_a_long_list_begins_with_what_is_usual_on_the_crop(engine, monkeypatch) -> None:
    """Flour-like patches stand higher for squash than for sweet corn; "found none" stays on top of the creatures."""
    shown: list[list[str]] = []

    def take_all(ask, options, plain, helps):
        shown.append([option.value for option in options])
        return tuple(Tick(option.value) for option in options)

    monkeypatch.setattr(prompts, "pick_several", take_all)
    asker = asking.Asker(engine, console.screen(plain=True), keep=lambda _: None)
    place = {}
    for crop in ("summer_squash", "sweet_corn"):
        interview = Interview(Case(crop=crop))
        _, belief, _ = step(interview, engine)
        asker._ask("pattern", interview, belief)
        place[crop] = shown[-1].index("white_powder_patches")
        asker._ask("creature", interview, belief)
        assert set(shown[-1][:2]) == {"none_found", "none_by_day"}
    assert place["summer_squash"] < place["sweet_corn"] / 2
