"""What growers told in published letters, counted: the tallies that come from the tuning half of the worked cases."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence

from triage.reasoning.knowledge import Cue, Knowledge
from triage.reasoning.tallies import Tally
from triage.reasoning.worked_cases import WorkedCase

Tallies = dict[str, dict[str, Tally]]  # cause, cue


def letters_of(worked: Sequence[WorkedCase], knowledge: Knowledge) -> Tallies:
    """The tuning half counted by cause and cue; a tick that is not sure counts as the scale says (half)."""
    asked: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    ticks: dict[str, dict[str, dict[str, float]]] = defaultdict(lambda: defaultdict(lambda: defaultdict(float)))
    for one in worked:
        if one.half != "tune" or one.truth.cause is None:
            continue
        for cue, told in one.case.told().items():
            asked[one.truth.cause][cue] += 1
            for tick in told:
                ticks[one.truth.cause][cue][tick.value] += 1.0 if tick.sure else knowledge.scale.unsure
    return {
        cause: {cue: Tally(asked=number, ticks=dict(ticks[cause][cue])) for cue, number in cues.items()}
        for cause, cues in asked.items()
    }


def as_yaml(tallies: Tallies, cues: Mapping[str, Cue]) -> str:
    """One file of tallies, the causes by name, the cues in their order, the commonest answers first."""
    lines = []
    for cause in sorted(tallies):
        lines.append(f"{cause}:")
        for cue, spec in cues.items():
            tally = tallies[cause].get(cue)
            if tally:
                ranks = {value: rank for rank, value in enumerate(spec.answers)}
                ordered = sorted(tally.ticks.items(), key=lambda tick: (-tick[1], ranks[tick[0]]))
                ticks = ", ".join(f"{value}: {count:g}" for value, count in ordered)
                lines.append(f"  {cue}: {{asked: {tally.asked:g}, ticks: {{{ticks}}}}}")
    return "\n".join(lines) + "\n"
