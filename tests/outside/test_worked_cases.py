"""Worked cases from published descriptions, each with its source in knowledge/cases/.

Told in full: a fact sheet's whole description. Told in part: what a grower wrote to a column
or clinic, put into cues by readers who did not know the diagnosis; many of these no one could
settle from what is told, so they are measured, not demanded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from triage.reasoning.knowledge import Effect
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.simulation import play_fast
from triage.reasoning.verdict import judge
from triage.reasoning.verdict_model import Verdict
from triage.reasoning.worked_cases import WorkedCase, load_cases

#: One worker runs them all, so that each case is judged once.
pytestmark = pytest.mark.xdist_group("worked_cases")

_HELPS = (Effect.KILLS_ON_CONTACT, Effect.SLOWS)


@dataclass(frozen=True)
class Judged:
    """A worked case, its verdict on all that is told, and on what the interview asks."""

    worked: WorkedCase
    told: Verdict
    asked: Verdict
    questions: int

    @property
    def by_class(self) -> bool:
        return self.told.classes[0].id in self.worked.right_classes


@pytest.fixture(scope="session")
def judged(knowledge, engine) -> list[Judged]:
    found = []
    for w in load_cases(knowledge_folder(), knowledge):
        interview, _ = play_fast(w.case, knowledge, engine.weights)
        found.append(Judged(w, judge(w.case, engine), judge(interview.case, engine), len(interview.asked)))
    return found


@pytest.fixture(scope="session")
def in_full(judged) -> list[Judged]:
    return [j for j in judged if j.worked.told == "in_full"]


def share(hits: list[bool]) -> float:
    return sum(hits) / len(hits)


def test_there_are_enough_and_every_class_is_there(judged, in_full, knowledge) -> None:
    assert len(in_full) >= 200
    assert {j.worked.truth.class_id for j in in_full} == set(knowledge.class_ids)
    assert {j.worked.half for j in judged} == {"tune", "measure"}


def test_class_and_spray_judgement_of_cases_told_in_full(in_full, knowledge) -> None:
    assert share([j.by_class for j in in_full]) >= 0.93
    known = [j for j in in_full if j.worked.truth.cause]
    right = [j.told.spray.judgement == knowledge.sheets[j.worked.truth.cause].spray.effect for j in known]
    assert share(right) >= 0.95


def test_the_interview_gets_there_in_eight_questions(judged, in_full) -> None:
    assert np.mean([j.questions for j in judged]) <= 8
    assert share([j.asked.classes[0].id in j.worked.right_classes for j in in_full]) >= 0.9


@pytest.mark.parametrize("answers", ["told", "asked"])
def test_no_case_is_told_to_spray_in_vain(judged, knowledge, answers: str) -> None:
    """Where the truth is something the mix does not help, no verdict says it is worth it."""
    for j in judged:
        if j.worked.truth.cause and knowledge.sheets[j.worked.truth.cause].spray.effect not in _HELPS:
            assert not getattr(j, answers).spray.worth_it, j.worked.id


def test_each_verdict_heeds_what_its_source_warns_of(judged, engine) -> None:
    for j in judged:
        w, verdict = j.worked, j.told
        told = " ".join([*verdict.cautions, *(a.says for a in verdict.actions), verdict.spray.reason]).lower()
        if "no_spray" in w.warns:
            assert not verdict.spray.worth_it, w.id
        if "sample" in w.warns:
            sheet = engine.knowledge.sheets[verdict.leading.id]
            assert verdict.send_sample or sheet.send_sample_when, w.id
        if "spare_helpers" in w.warns and verdict.spray.worth_it:
            assert any(word in told for word in ("helper", "predator", "enemies", "parasit", "beneficial", "lady")), (
                w.id
            )
        if "no_oil_in_heat" in w.warns:
            hot = judge(w.case, engine) if w.case.context.hot else None
            assert hot is None or hot.holds or not hot.spray.worth_it, w.id
        if "no_wet_leaves" in w.warns:
            assert not verdict.spray.worth_it or "wet" in told, w.id


def test_it_is_seldom_sure_and_wrong(judged) -> None:
    """Over 80% on a wrong class: under 5% of all cases, however little they tell."""
    assert share([not j.by_class and j.told.classes[0].probability > 0.8 for j in judged]) < 0.05


def test_the_measuring_half_does_not_get_worse(judged) -> None:
    """Floors a little under what was measured; the README shows the figures themselves."""
    half = [j for j in judged if j.worked.half == "measure"]
    known = [j for j in half if j.worked.truth.cause]
    assert share([j.by_class for j in half]) >= 0.88
    assert share([any(c.id in j.worked.right_causes for c in j.told.causes[:3]) for j in known]) >= 0.88


def test_a_broken_worked_case_names_file_and_line(tmp_path, knowledge) -> None:
    import shutil

    from triage.reasoning.yaml_text import BadInput

    root = tmp_path / "knowledge"
    shutil.copytree(knowledge_folder(), root)
    path = root / "cases" / "mollusc.yaml"
    path.write_text(path.read_text().replace("creature: [slug]", "creature: [slugg]", 1))
    with pytest.raises(BadInput, match=r"knowledge/cases/mollusc.yaml, line \d+"):
        load_cases(root, load(root))
