"""What a class knows, by section: a Rasch model with a common ability and one of each section.

The logit of a right answer is `common * g + own * u - difficulty - learned * age`: g is the student's
general ability today and u that in the question's section, both standard normal before any answer; `age` is
how long ago the answer was given, and `learned` what the class has learned since. Sections are correlated
through g. Slopes and difficulties maximise the marginal likelihood, by sums over a grid of g and u, which is
exact for this model: given g, sections are independent of each other. Difficulties start from priors.

Sources: Rasch 1960; Bock and Aitkin 1981, Psychometrika 46, for marginal maximum likelihood; Gibbons and
Hedeker 1992, Psychometrika 57, for the common and the sections' own factors.
"""

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lubberline.arrays import Floats

# Nodes of g and of u, from -4 to 4: finer than some hundred answers can resolve.
GENERAL_NODES, OWN_NODES, SINGLE_NODES = 21, 13, 61
# The slopes before any answer: sections correlate by 0.67, and one standard deviation of ability turns a
# chance of 0.5 into 0.73. Two classes in three are within a factor of exp(0.4).
USUAL_COMMON, USUAL_OWN, SLOPE_SPREAD = 0.85, 0.6, 0.4
# How far a question may be from its prior difficulty, and a class from all priors, logits; and how much a
# class may learn in a unit of age, which the caller chooses.
DIFFICULTY_SPREAD, CLASS_SPREAD, LEARNED_SPREAD = 0.7, 1.0, 0.7
MOST_STEPS = 60


class Table(NamedTuple):
    """Answers of a class, weighted.

    A column is a question as it was asked at one time; questions of one difficulty may have several columns.

    Attributes:
        right: (students, columns) weight of right answers; 0 where not asked.
        wrong: the same of wrong ones.
        section: (columns,) which section a question belongs to, from 0.
        sections: how many sections.
        item: (columns,) place in `prior` of its difficulty.
        age: (columns,) how long ago it was asked.
        prior: (items,) difficulty expected beforehand, logit.
        prior_sd: standard deviation of the prior; one number.
    """

    right: Floats
    wrong: Floats
    section: NDArray[np.intp]
    sections: int
    item: NDArray[np.intp]
    age: Floats
    prior: Floats
    prior_sd: float = DIFFICULTY_SPREAD


class Ability(NamedTuple):
    """What was found.

    Attributes:
        common: slope on the general ability.
        own: slope on a section's own; 0 with a single section.
        shift: how much harder than the priors all questions were, logit.
        learned: by the class in a unit of age, logit.
        difficulty: (items,) logit; `difficulty_sd` its standard deviation.
        nodes: (g,) grid of the general ability; `own_nodes` (u,) that of a section's own.
        general: (students, g) chances.
        given: (students, sections, g, u) chances of u given g.
    """

    common: float
    own: float
    shift: float
    learned: float
    difficulty: Floats
    difficulty_sd: Floats
    nodes: Floats
    own_nodes: Floats
    general: Floats
    given: Floats

    def logits(self, table: Table) -> Floats:
        """(columns, g, u) logit of a right answer, averaged over the uncertainty of the difficulty."""
        ability = self.common * self.nodes[:, None] + self.own * self.own_nodes[None, :]
        hard = self.difficulty[table.item] + self.learned * table.age
        spread = self.difficulty_sd[table.item]
        return moderated(ability[None] - hard[:, None, None], spread[:, None, None])


def moderated(logit: Floats, spread: Floats) -> Floats:
    """The logit of a chance averaged over a normal logit of this spread (MacKay 1992)."""
    shrunk: Floats = logit / np.sqrt(1.0 + math.pi / 8.0 * spread**2)
    return shrunk


def fitted(table: Table, *, slope_spread: float = SLOPE_SPREAD) -> Ability:
    """Slopes, difficulties and every student's abilities from a class's answers.

    Maximises the marginal likelihood times the priors by its gradient, which is that of the expected counts
    (Fisher's identity).

    Args:
        table: the answers; without students or questions the priors are returned.
        slope_spread: how far slopes may be from their usual values, as logs; 0 fixes them.
    """
    from scipy.optimize import minimize

    single = table.sections < 2
    nodes = np.linspace(-4.0, 4.0, SINGLE_NODES if single else GENERAL_NODES)
    own_nodes = np.zeros(1) if single else np.linspace(-4.0, 4.0, OWN_NODES)
    usual = np.array([math.hypot(USUAL_COMMON, USUAL_OWN)] if single else [USUAL_COMMON, USUAL_OWN])
    count = len(usual)

    def unasked(place: Floats, spread: Floats) -> Ability:
        slopes = usual * np.exp(slope_spread * place[:count])
        own = 0.0 if single else float(slopes[1])
        nobody = (np.zeros((0, len(nodes))), np.zeros((0, 0, len(nodes), len(own_nodes))))
        shift = CLASS_SPREAD * float(place[count])
        learned = LEARNED_SPREAD * float(place[count + 1])
        difficulty = table.prior + shift + table.prior_sd * place[count + 2 :]
        return Ability(float(slopes[0]), own, shift, learned, difficulty, spread, nodes, own_nodes, *nobody)

    sure = np.zeros(len(table.prior))

    def badness(place: Floats) -> tuple[float, Floats]:
        likelihood, found = expected(table, unasked(place, sure))
        by_slope, by_column, _ = _gradients(table, found, count)
        by_slope = by_slope * slope_spread * usual * np.exp(slope_spread * place[:count])
        by_item = table.prior_sd * np.bincount(table.item, by_column, len(table.prior))
        both = [CLASS_SPREAD * by_column.sum(), LEARNED_SPREAD * (by_column * table.age).sum()]
        rise = np.concatenate((by_slope, both, by_item))
        return float(0.5 * place @ place - likelihood), place - rise

    start = np.zeros(count + 2 + len(table.prior))
    # To a few thousandths of a log likelihood: nobody's chances show less.
    options = {"maxiter": MOST_STEPS, "ftol": 3e-7}
    best = minimize(badness, start, jac=True, method="L-BFGS-B", options=options)
    _, found = expected(table, unasked(best.x, sure))
    bend = np.bincount(table.item, _gradients(table, found, count)[2], len(table.prior))
    spread: Floats = np.sqrt(1.0 / (bend + table.prior_sd**-2))
    return expected(table, unasked(best.x, spread))[1]


def _log_normal(nodes: Floats) -> Floats:
    """Logs of the standard normal's weights on a grid."""
    weights = np.exp(-0.5 * nodes**2)
    found: Floats = np.log(weights / weights.sum())
    return found


def expected(table: Table, found: Ability) -> tuple[float, Ability]:
    """The log likelihood, and the students' chances over the grid."""
    students = len(table.right)
    logits = found.logits(table)
    log_right, log_wrong = -np.logaddexp(0.0, -logits), -np.logaddexp(0.0, logits)
    grid = (len(found.nodes), len(found.own_nodes))
    given = np.empty((students, table.sections, *grid))
    log_general = _log_normal(found.nodes) + np.zeros((students, 1))
    for section in range(table.sections):
        of = table.section == section
        said = _summed("nj,jgu->ngu", table.right[:, of], log_right[of])
        said += _summed("nj,jgu->ngu", table.wrong[:, of], log_wrong[of])
        likely = said + _log_normal(found.own_nodes)
        top = likely.max(axis=2, keepdims=True)
        weight = np.exp(likely - top)
        whole = weight.sum(axis=2, keepdims=True)
        given[:, section] = weight / whole
        log_general = log_general + (top + np.log(whole))[:, :, 0]
    top = log_general.max(axis=1, keepdims=True, initial=-np.inf)
    general = np.exp(log_general - top)
    whole = general.sum(axis=1, keepdims=True)
    return float((top + np.log(whole)).sum()), found._replace(general=general / whole, given=given)


def _summed(how: str, one: Floats, other: Floats) -> Floats:
    """A sum of products without threads, which would take longer than so small a sum."""
    found: Floats = np.einsum(how, one, other)
    return found


def _gradients(table: Table, found: Ability, slopes: int) -> tuple[Floats, Floats, Floats]:
    """Of the log likelihood: by the slopes, by the columns' difficulties, and how it bends in these."""
    grid = found.given.shape[2:]
    logits = found.logits(table)
    chance = 1.0 / (1.0 + np.exp(-logits))
    by_node = np.zeros(grid)
    by_difficulty, bend = np.zeros(len(logits)), np.zeros(len(logits))
    for section in range(table.sections):
        of = table.section == section
        both = found.general[:, :, None] * found.given[:, section]
        rights = _summed("nj,ngu->jgu", table.right[:, of], both)
        asked = rights + _summed("nj,ngu->jgu", table.wrong[:, of], both)
        left = rights - asked * chance[of]
        by_node += left.sum(axis=0)
        by_difficulty[of] = -left.sum(axis=(1, 2))
        bend[of] = (asked * chance[of] * (1.0 - chance[of])).sum(axis=(1, 2))
    axes = np.meshgrid(found.nodes, found.own_nodes, indexing="ij")[:slopes]
    return np.array([(by_node * axis).sum() for axis in axes]), by_difficulty, bend
