"""The tallies of letters are the tuning half of the worked cases, counted; nothing of the measuring half is in them."""

from __future__ import annotations

from dataclasses import replace

from triage.reasoning.case import Case, Tick
from triage.reasoning.letters import as_yaml, letters_of
from triage.reasoning.library import knowledge_folder
from triage.reasoning.tallies import Tally, add_tallies
from triage.reasoning.yaml_text import parse


def test_the_files_hold_what_the_cases_tell(worked, knowledge) -> None:
    """After a change to the cases: python benchmarks/tally_letters.py."""
    letters = letters_of(worked, knowledge)
    for class_id in knowledge.class_ids:
        of_class = {cause: tally for cause, tally in letters.items() if knowledge.class_of(cause) == class_id}
        kept = (knowledge_folder() / f"tallies/letters/{class_id}.yaml").read_text(encoding="utf-8")
        assert kept == as_yaml(of_class, knowledge.cues), f"{class_id}: run benchmarks/tally_letters.py"


def test_measuring_cases_are_not_counted(worked, knowledge) -> None:
    measuring = [one for one in worked if one.half == "measure"]
    assert measuring
    assert letters_of(measuring, knowledge) == {}


def test_a_letter_is_counted_by_cause_cue_and_answer(worked, knowledge) -> None:
    one = next(w for w in worked if w.half == "tune" and w.truth.cause)
    told = {"pattern": (Tick("wilting"), Tick("stunting", sure=False)), "trace": ()}
    letter = replace(one, case=Case(crop="bean", answers=told))
    other = replace(one, case=Case(crop="bean", answers={"pattern": (Tick("wilting"),)}))
    assert letters_of([letter, other], knowledge) == {
        one.truth.cause: {"pattern": Tally(asked=2, ticks={"wilting": 2, "stunting": 0.5})}
    }


def test_two_tallies_add_up_cue_by_cue() -> None:
    one = {"pattern": Tally(asked=2, ticks={"wilting": 1}), "trace": Tally(asked=1, ticks={})}
    other = {"pattern": Tally(asked=3, ticks={"wilting": 0.5, "stunting": 2}), "creature": Tally(asked=1, ticks={})}
    assert add_tallies(one, other) == {
        "pattern": Tally(asked=5, ticks={"wilting": 1.5, "stunting": 2}),
        "trace": Tally(asked=1, ticks={}),
        "creature": Tally(asked=1, ticks={}),
    }


def test_the_text_reads_back_as_it_was(worked, knowledge) -> None:
    letters = letters_of(worked, knowledge)
    read = parse(as_yaml(letters, knowledge.cues), "letters")
    assert {c: {q: Tally(**t) for q, t in cues.items()} for c, cues in read.items()} == letters
