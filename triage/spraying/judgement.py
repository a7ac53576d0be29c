"""What a verdict, or a sheet, says of the spray, as a programme needs it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from triage.reasoning.knowledge import Effect, Knowledge
from triage.reasoning.yaml_text import BadInput, Problem
from triage.spraying.programme import Advice, Judgement

_HELPS = (Effect.KILLS_ON_CONTACT, Effect.SLOWS)
_MOST_INSTEAD = 4


def from_verdict(verdict: Mapping[str, Any], comes_from: str) -> Judgement:
    """The judgement in a verdict's record (`triage assess --json`). Raises BadInput when it is none."""
    try:
        spray, lead = verdict["spray"], verdict["causes"][0]
        advice: Advice = spray["advice"]
        if advice not in ("spray", "check_first", "do_not_spray"):
            raise KeyError(advice)
        said = [(str(action["kind"]), str(action["says"])) for action in verdict.get("actions", ())]
        other = [says for kind, says in said if kind in ("instead", "now")]
        if advice == "check_first":
            first = [says for kind, says in said if kind == "before_spray"]
            checks = [f"{check['ask']} {check.get('if_you_find', '')}" for check in verdict.get("would_change", ())]
            other = [*first, *checks, *other]
        return Judgement(
            advice,
            str(spray["judgement"]),
            str(lead["id"]),
            str(lead["name"]),
            comes_from,
            str(spray["reason"]),
            () if advice == "spray" else tuple(other[:_MOST_INSTEAD]),
        )
    except (KeyError, TypeError, IndexError):
        wrong = "this is no verdict"
        raise BadInput([Problem(comes_from, None, "", wrong, "make one: triage assess --json FILE")]) from None


def from_sheet(cause: str, knowledge: Knowledge) -> Judgement:
    """What the sheet of a cause says, for somebody who knows what it is."""
    sheet = knowledge.sheets[cause]
    effect = sheet.spray.effect
    helps = effect in _HELPS
    reason = "" if helps else f"The spray does not help against {sheet.name}: {sheet.spray.note}"
    instead = () if helps else tuple(sheet.actions[:_MOST_INSTEAD])
    advice: Advice = "spray" if helps else "do_not_spray"
    return Judgement(advice, str(effect), cause, sheet.name, "the sheet of the cause you named", reason, instead)


def no_verdict() -> Judgement:
    """For a scent mask, which answers no verdict."""
    return Judgement("check_first", str(Effect.REPELS_ONLY), None, "", "no verdict", "No verdict was given.")
