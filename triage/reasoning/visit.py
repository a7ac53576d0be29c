"""Several problems on one plant: their verdicts merged into one plan."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from triage.reasoning.knowledge import Knowledge
from triage.reasoning.verdict_model import Verdict


@dataclass(frozen=True)
class Step:
    """One thing to do, and the problems it serves (their causes' names)."""

    says: str
    serves: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """What to do about all problems of a visit together."""

    problems: tuple[str, ...]
    spray_for: tuple[str, ...]  # problems the spray is worth using on
    spray_not_for: tuple[str, ...]  # problems it will not touch
    check_first: tuple[str, ...]
    steps: tuple[Step, ...]
    holds: tuple[str, ...]
    cautions: tuple[str, ...]
    send_sample: tuple[str, ...]


def merge(verdicts: Sequence[Verdict], knowledge: Knowledge) -> Plan:
    """One plan out of several verdicts: the same step once, with all it serves."""
    names = [_name(verdict) for verdict in verdicts]
    steps: dict[str, list[str]] = {}
    for verdict, name in zip(verdicts, names, strict=True):
        if verdict.state == "unclear":
            continue
        for action in verdict.actions:
            serves = knowledge.cause_name(action.serves) if action.serves != "all" else name
            if action.serves in ("all", verdict.leading.id):
                steps.setdefault(action.says, []).append(serves)
    by_advice = {
        advice: tuple(n for v, n in zip(verdicts, names, strict=True) if v.spray.advice == advice)
        for advice in ("spray", "check_first", "do_not_spray")
    }
    # One hold or one harm is enough to keep the sprayer off the whole plant.
    return Plan(
        problems=tuple(names),
        spray_for=by_advice["spray"],
        spray_not_for=by_advice["do_not_spray"],
        check_first=by_advice["check_first"],
        steps=tuple(Step(says, tuple(dict.fromkeys(serves))) for says, serves in steps.items()),
        holds=_union(v.holds for v in verdicts),
        cautions=_union(v.cautions for v in verdicts),
        send_sample=_union(v.send_sample for v in verdicts),
    )


def _name(verdict: Verdict) -> str:
    if verdict.state == "unclear":
        return f"not clear yet (perhaps {verdict.leading.name})"
    return verdict.leading.name


def _union(lists: object) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for texts in lists for text in texts))  # type: ignore[attr-defined]
