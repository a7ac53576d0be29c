"""How good the program is, as a table."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict

from rich.table import Table

from triage.reasoning.engine import Engine
from triage.reasoning.measure import judged, measure
from triage.reasoning.worked_cases import WorkedCase
from triage.screens.console import Screen

_TOLD = {"in_full": "in full", "in_part": "in part", "too_little": "too little", "all": "all"}
_HEADS = ("half", "told", "answers", "cases", "class", "cause", "of 3", "spray", "in vain", "asked", "gap")


def show_measures(worked: Sequence[WorkedCase], engine: Engine, screen: Screen, as_json: bool) -> None:
    """A row a group: each half, by how much is told and together; all answers given, and by interview."""
    table = Table(box=None, padding=(0, 1, 0, 0), header_style="label")
    for head in _HEADS:
        table.add_column(head, no_wrap=True)
    judgements = {way: [judged(w, engine, by_interview=way) for w in worked] for way in (False, True)}
    for half in ("tune", "measure"):
        for told, words in _TOLD.items():
            for by_interview, cases in judgements.items():
                group = [j for j in cases if j.worked.half == half and told in (j.worked.told, "all")]
                found = measure(group, engine.knowledge)
                answers = "interview" if by_interview else "all given"
                if as_json:
                    print(json.dumps({"half": half, "told": told, "answers": answers, **asdict(found)}))
                    continue
                shares = (found.by_class, found.by_cause, found.among_three, found.by_spray)
                asked = f"{found.questions:.1f}" if by_interview else ""
                table.add_row(
                    half,
                    words,
                    answers,
                    str(found.cases),
                    *(f"{share:.0%}" for share in shares),
                    str(found.sprays_in_vain),
                    asked,
                    f"{found.calibration_error:.2f}",
                )
    if not as_json:
        screen.print(table)
        screen.print("class, cause, of 3, spray: how often right. in vain: told to spray where it is no use, a count.")
        screen.print("Where too little is told, 'unclear' and no spray is right as well.")
        screen.print("asked: questions on average. gap: between what it says and what is true (calibration error).")
