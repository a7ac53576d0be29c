"""One cue of the sheets as an array of weights of evidence.

Notation: c runs over causes (the last is `something_else`), v over the answers of one cue.
p[v, c] = P(grower gives answer v | cause c); b[v] = its background over all causes.
A weight is the natural logarithm of a likelihood ratio (I. J. Good, "Probability and the
Weighing of Evidence", 1950; from memory): log(p / b), times the damping of the cue's group.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.reasoning.chances import Array, Mask, Told, chances_of
from triage.reasoning.knowledge import Cue, Scale


@dataclass(frozen=True)
class CueWeights:
    """Weights of one cue, damped. Rows are its answers in order, columns the causes.

    A tick at factor f (1 sure, 0.5 unsure) adds f*seen - unseen; answering a cue that takes
    several answers adds `looked`, the sum of what not ticking any of them would say.
    """

    values: tuple[str, ...]
    several: bool  # several answers may hold at once; otherwise they share 100%
    stated: Array  # P(answer | cause) by the sheet and its tally alone; the last column is the background
    given: Array  # P(answer | cause) as believed: drawn to the mean of the class (of something_else: below)
    seen: Array
    unseen: Array
    looked: Array
    shares: Array  # `given` with every column scaled to sum 1: one answer at a time
    alone: Array  # what each answer says when it is the only one: seen - unseen + looked

    def row(self, value: str) -> int:
        return self.values.index(value)


def _drawn_to_class(own: Array, listed: Mask, weight: Array, background: Array, members: Array, scale: Scale) -> Array:
    """Every cause's chances drawn towards the mean of the other causes of its class, most where its sheet is silent.

    A sheet never lists all that growers tell; what its relatives show is the better guess than "hardly ever".
    `weight` is how much a cell counts in a mean (answers by causes); the background joins each mean with the weight
    of `relatives.background` common causes, so that a class of few sheets is not taken at its word. The idea is that
    of James and Stein (estimates shrunk towards the mean of their group), 1961; from memory.
    """
    joined = scale.relatives["background"]
    counted = own * weight
    others, mass = ((table @ members) @ members.T - table for table in (counted, weight))  # all of the class but itself
    mean = (others + joined * background[:, None]) / (mass + joined)
    share = np.where(listed, scale.relatives["listed"], scale.relatives["silent"])
    drawn: Array = (1 - share) * own + share * mean
    return drawn


def cue_weights(cue: Cue, told: Told, scale: Scale, common: Array, members: Array) -> CueWeights:
    """`common`: how common each cause is; `members`: 1 where a cause (row) is of a class (column)."""
    silent = np.array([scale.unlisted if cue.silent(value) == "rare" else scale.neutral for value in cue.answers])
    chances = chances_of(cue, told, scale, silent)
    stated = chances.p
    if not cue.several:
        # The answers share 100%. A silent cell takes no part, so it cannot swell the others.
        total = np.nansum(stated, axis=0)
        stated = stated / np.where(total > 0, total, np.nan)
    known = ~np.isnan(stated)
    weight = common * known
    mass = weight.sum(axis=1)
    # Strangers: causes without a sheet, for each answer some that show it. Without them what hardly any sheet lists
    # would be nearly proof of whichever one does. (Laplace's rule of succession.)
    strangers = scale.strangers
    all_strangers = strangers if cue.several else strangers * len(cue.answers)
    background = (np.nansum(np.where(known, stated, 0) * weight, axis=1) + strangers) / (mass + all_strangers)
    background = np.clip(background, scale.unlisted / 2, 1 - scale.unlisted / 2)
    own = np.where(known, stated, background[:, None])
    # A sheet that does not name the cue stays at the background: it matters to those of its class that name it.
    given = np.where(known, _drawn_to_class(own, chances.listed, weight, background, members, scale), own)
    if not cue.several:
        given = given * (own.sum(axis=0) / given.sum(axis=0))  # the answers still share what they shared
    error = scale.observer_error
    stated, given = (np.column_stack([(1 - error) * p + error * background[:, None], background]) for p in (own, given))
    given[:, -1] = _of_something_else(background, own, silent == scale.unlisted, scale)
    surest = np.column_stack([chances.surest, np.zeros(len(stated), bool)])
    return weighed(cue, stated, given, background, surest, scale)


def _of_something_else(background: Array, own: Array, sign: Mask, scale: Scale) -> Array:
    """P(answer | something_else): the background, and more for a sign that no sheet shows often.

    An answer is there because something shows it. The less the best of the sheets does, the more it points past them
    all. Only for signs: what happens by chance as well (events, surroundings) points nowhere.
    """
    lacking = np.maximum(scale.frequency["often"] - own.max(axis=1), 0.0)
    found: Array = np.minimum(background + np.where(sign, lacking, 0.0), 1 - scale.unlisted / 2)
    return found


def weighed(cue: Cue, stated: Array, given: Array, background: Array, surest: Mask, scale: Scale) -> CueWeights:
    """Chances (answers by columns, each a cause or a kin of causes) made into weights.

    `surest`: where the answer is almost always there, so that missing it says more.
    """
    damping = scale.damping[cue.group]
    seen = damping * np.log(given / background[:, None])
    if cue.several:
        share = np.where(surest, scale.unticked["almost_always"], scale.unticked["otherwise"])
        unseen = damping * share * np.log((1 - given) / (1 - background[:, None]))
        alone = np.array([answer.alone for answer in cue.answers.values()])
        unseen[alone] = 0.0  # "found none" is the sum of the other ticks, not one more thing to find
    else:
        unseen = np.zeros_like(seen)
    looked = unseen.sum(axis=0)
    return CueWeights(
        values=tuple(cue.answers),
        several=cue.several,
        stated=stated,
        given=given,
        seen=seen,
        unseen=unseen,
        looked=looked,
        shares=given / given.sum(axis=0),
        alone=seen - unseen + looked,
    )
