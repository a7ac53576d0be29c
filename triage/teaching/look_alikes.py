"""Two causes side by side: in which cues they differ, computed from their sheets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.reasoning.case import near_misses
from triage.reasoning.engine import Engine
from triage.reasoning.explain import separation, tell_apart
from triage.reasoning.knowledge import Knowledge
from triage.reasoning.yaml_text import BadInput, Problem

#: An answer speaks for a cause when it is this much likelier there.
_TELLING = 0.12
_MOST = 3


@dataclass(frozen=True)
class Difference:
    """One cue in which two causes differ. `gain`: symmetric divergence in nats, larger tells more."""

    cue: str
    first: tuple[str, ...]  # answers that speak for the first cause
    second: tuple[str, ...]
    gain: float


@dataclass(frozen=True)
class Comparison:
    first: str
    second: str
    check: str  # what the sheets themselves say tells the two apart; may be empty
    differences: tuple[Difference, ...]


def find_cause(text: str, knowledge: Knowledge) -> str:
    """A cause id from an id, a name or a part of a name. Raises BadInput with near misses."""
    wanted = " ".join(text.lower().replace("_", " ").split())
    names = {cause: f"{cause.replace('_', ' ')} {sheet.name.lower()}" for cause, sheet in knowledge.sheets.items()}
    exact = [c for c, s in knowledge.sheets.items() if wanted in (c.replace("_", " "), s.name.lower())]
    if exact:
        return exact[0]
    words = wanted.split()
    hits = [cause for cause, name in names.items() if words and all(word in name for word in words)]
    if len(hits) == 1:
        return hits[0]
    if hits:
        raise BadInput([Problem("cause", None, "", f"'{text}' could be: {', '.join(hits[:8])}", "say which")])
    close = near_misses(wanted.replace(" ", "_"), knowledge.sheets)
    close += [c for c, s in knowledge.sheets.items() if near_misses(wanted, [s.name.lower()])]
    mend = f"did you mean {' or '.join(dict.fromkeys(close))}?" if close else "see knowledge/causes/"
    raise BadInput([Problem("cause", None, "", f"no cause is called '{text}'", mend)])


def compare(first: str, second: str, engine: Engine) -> Comparison:
    """The cues of two causes ordered by how well they separate the two."""
    knowledge, weights = engine.knowledge, engine.weights
    one, two = weights.index(first), weights.index(second)
    found = []
    for cue in knowledge.cues:
        table = weights.cues[cue]
        lead = table.given[:, one] - table.given[:, two]
        for_first = tuple(table.values[i] for i in np.argsort(-lead, kind="stable") if lead[i] >= _TELLING)[:_MOST]
        for_second = tuple(table.values[i] for i in np.argsort(lead, kind="stable") if lead[i] <= -_TELLING)[:_MOST]
        if for_first or for_second:
            found.append(Difference(cue, for_first, for_second, separation(first, second, cue, weights)))
    found.sort(key=lambda difference: -difference.gain)
    return Comparison(first, second, tell_apart(first, second, knowledge), tuple(found))
