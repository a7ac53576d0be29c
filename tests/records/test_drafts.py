from __future__ import annotations

from triage.records import drafts
from triage.records.store import Journal


def test_a_draft_is_kept_replaced_and_dropped(any_journal: Journal) -> None:
    assert drafts.get(any_journal, "interview") is None
    drafts.put(any_journal, "interview", {"asked": ["pattern"], "case": {"crop": None}})
    drafts.put(any_journal, "walk", {"at": 3})
    drafts.put(any_journal, "interview", {"asked": ["pattern", "motion"]})
    assert drafts.get(any_journal, "interview") == {"asked": ["pattern", "motion"]}
    drafts.drop(any_journal, "interview")
    drafts.drop(any_journal, "interview")
    assert drafts.get(any_journal, "interview") is None
    assert drafts.get(any_journal, "walk") == {"at": 3}
