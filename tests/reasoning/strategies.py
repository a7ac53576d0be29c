"""Random cases out of the real vocabulary."""

from __future__ import annotations

from hypothesis import strategies as st

from triage.reasoning.case import Case, Tick
from triage.reasoning.knowledge import Knowledge


def cases(knowledge: Knowledge, most_cues: int = 12) -> st.SearchStrategy[Case]:
    """Any crop, any months, up to `most_cues` cues with any ticks that may stand together."""
    tick_lists = {}
    for name, cue in knowledge.cues.items():
        plain = [value for value, answer in cue.answers.items() if not answer.alone]
        alone = [value for value, answer in cue.answers.items() if answer.alone]
        most = 3 if cue.several else 1
        free = st.lists(st.sampled_from(plain), max_size=most, unique=True)
        values = free | st.sampled_from(alone).map(lambda v: [v]) if alone else free
        tick_lists[name] = values.flatmap(
            lambda found: st.tuples(*(st.builds(Tick, st.just(v), st.booleans()) for v in found))
        )
    answers = st.lists(st.sampled_from(sorted(knowledge.cues)), max_size=most_cues, unique=True).flatmap(
        lambda names: st.fixed_dictionaries({name: tick_lists[name] for name in names})
    )
    return st.builds(
        Case,
        crop=st.none() | st.sampled_from(sorted(knowledge.crops.crops)),
        months=st.lists(st.integers(1, 12), max_size=2, unique=True).map(tuple),
        region=st.none() | st.sampled_from(["europe", "north_america", "africa", "oceania"]),
        hemisphere=st.none() | st.sampled_from(["north", "south", "tropics"]),
        answers=answers,
    )
