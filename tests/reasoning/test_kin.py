"""Relatives without a sheet: their groups, their shares and their chances."""

from __future__ import annotations

import numpy as np
import pytest

from triage.reasoning.kin import groups_of
from triage.reasoning.weights import NATS_PER_DECIBAN, compile_weights


def test_every_sheet_is_of_one_kin_and_every_kin_of_one_class(knowledge) -> None:
    groups = groups_of(knowledge)
    assert (groups.sum(axis=1) == 1).all()
    causes = list(knowledge.sheets)
    for column in groups.T:
        assert len({knowledge.class_of(causes[i]) for i in np.flatnonzero(column)}) == 1
    assert groups.shape[1] == sum(len(named) for named in knowledge.kin.values())


def test_sheets_that_no_group_names_are_a_kin_of_their_class(knowledge) -> None:
    few = ["slug", "snail", "birds", "deer", "rabbit"]
    sheets = {cause: knowledge.sheets[cause] for cause in few}
    named = knowledge.model_copy(update={"sheets": sheets, "kin": {"vertebrate": {"browsers": ["deer"]}}})
    kin = groups_of(named).argmax(axis=1)
    assert kin[0] == kin[1]
    assert kin[2] == kin[4]
    assert len(set(kin)) == 3


def test_a_relative_answers_as_its_kin_does_on_the_mean(engine, knowledge) -> None:
    """Weighed by how common each is, reckoned by hand for one kin and one answer."""
    weights = engine.weights
    causes = knowledge.kin["soft_bodied"]["mites"]
    columns = [weights.index(cause) for cause in causes]
    common = np.array([knowledge.scale.commonness[knowledge.sheets[cause].commonness] for cause in causes])
    kin = int(weights.kin.groups[columns[0]].argmax())
    table, own = weights.kin.cues["pattern"], weights.cues["pattern"]
    row = own.row("pale_stippling")
    mean = own.given[row, columns] @ common / common.sum()
    assert table.given[row, kin] == pytest.approx(mean)
    damping = knowledge.scale.damping[knowledge.cues["pattern"].group]
    assert table.seen[row, kin] == pytest.approx(damping * np.log(mean / own.given[row, -1]))
    assert table.seen[row, kin] < own.seen[row, weights.index("two_spotted_spider_mite")]


def test_relatives_share_what_the_scale_gives_them_by_how_common_their_kin_is(engine, knowledge) -> None:
    kin, common = engine.weights.kin, engine.weights.before.common
    assert kin.share.sum() == pytest.approx(knowledge.scale.kin)
    assert kin.share / kin.share[0] == pytest.approx(common @ kin.groups / (common @ kin.groups[:, 0]))


def test_a_rule_speaks_for_the_relative_as_for_its_kin_on_the_mean(engine, knowledge) -> None:
    """A rule for two of the eight mites: the relative gets their part of it, by how common they are."""
    word = knowledge.scale.strength_decibans["medium"] * NATS_PER_DECIBAN
    mites = knowledge.kin["soft_bodied"]["mites"]
    rule = knowledge.patterns[0].model_copy(update={"supports": dict.fromkeys(mites[:2], "medium"), "against": {}})
    weights = compile_weights(knowledge.model_copy(update={"patterns": [rule]}))
    common = [knowledge.scale.commonness[knowledge.sheets[cause].commonness] for cause in mites]
    told = weights.kin.patterns[rule.id]
    kin = int(weights.kin.groups[weights.index(mites[0])].argmax())
    assert told[kin] == pytest.approx(word * sum(common[:2]) / sum(common))
    assert np.count_nonzero(told) == 1
