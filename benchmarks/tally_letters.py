"""Counts the tuning half of the worked cases anew and writes knowledge/tallies/letters/.

python benchmarks/tally_letters.py      after cases were added or linked to another sheet
"""

from __future__ import annotations

from triage.reasoning.files import write_whole
from triage.reasoning.letters import as_yaml, letters_of
from triage.reasoning.library import knowledge_folder, load
from triage.reasoning.worked_cases import load_cases


def main() -> None:
    folder = knowledge_folder()
    knowledge = load(folder)
    letters = letters_of(load_cases(folder, knowledge), knowledge)
    for class_id in knowledge.class_ids:
        of_class = {cause: tally for cause, tally in letters.items() if knowledge.class_of(cause) == class_id}
        write_whole(folder / f"tallies/letters/{class_id}.yaml", as_yaml(of_class, knowledge.cues))
    print(f"{len(letters)} causes, {sum(max(t.asked for t in c.values()) for c in letters.values()):g} letters or more")


if __name__ == "__main__":
    main()
