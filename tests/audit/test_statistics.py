"""The arithmetic of an audit against published examples and against statsmodels, scikit-learn and SciPy."""

from __future__ import annotations

import math
import os
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from sklearn.metrics import cohen_kappa_score
from statsmodels.stats.inter_rater import cohens_kappa
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint

from talkaround.audit.statistics import (
    apart,
    change_point,
    newcombe,
    p_chart,
    per_comparison,
    ratio_mean,
    sample_size,
    share_of,
    standing_out,
    weighted_kappa,
    wilson,
)

EFFORT = int(os.environ.get("TEST_EFFORT", "1"))
tried = settings(max_examples=100 * EFFORT, derandomize=EFFORT == 1, deadline=None)

confidences = st.sampled_from([0.8, 0.9, 0.95, 0.99, 0.9999])


@st.composite
def counts(draw: st.DrawFn, least: int = 1, most: int = 5000) -> tuple[int, int]:
    due = draw(st.integers(least, most))
    return draw(st.integers(0, due)), due


tables = st.lists(st.lists(st.integers(0, 60), min_size=5, max_size=5), min_size=5, max_size=5)


# Wilson's interval


@pytest.mark.parametrize(
    ("met", "due", "low", "high"),
    [
        # Newcombe 1998, Statistics in Medicine 17:857-872, table I, method 3 (score, without correction).
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        # The same paper, from memory.
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_as_published(met: int, due: int, low: float, high: float) -> None:
    assert wilson(met, due) == pytest.approx((low, high), abs=5e-5)


@tried
@given(counts(), confidences)
def test_wilson_as_statsmodels(count: tuple[int, int], confidence: float) -> None:
    assert wilson(*count, confidence) == pytest.approx(
        proportion_confint(*count, alpha=1 - confidence, method="wilson"), abs=1e-9
    )


def test_wilson_of_nothing_is_everything_and_keeps_to_the_edges() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    assert wilson(0, 12)[0] == 0.0
    assert wilson(12, 12)[1] == 1.0


def test_a_share_says_when_it_is_of_few() -> None:
    few, enough, none = share_of(20, 29), share_of(20, 30), share_of(0, 0)
    assert (few.few, enough.few, none.few) == (True, False, True)
    assert (enough.low, enough.high) == wilson(20, 30)
    assert enough.share == pytest.approx(2 / 3) and none.share is None


# Difference of two shares


@pytest.mark.parametrize(
    ("first", "second", "low", "high"),
    [
        # Newcombe 1998, Statistics in Medicine 17:873-890, table II, method 10: (a) 56/70 less 48/80, (b) 9/10 less 3/10.
        ((48, 80), (56, 70), 0.0524, 0.3339),
        ((3, 10), (9, 10), 0.1705, 0.8090),
        # The same table, from memory: (c) 6/7 less 2/7, (d) 5/56 less 0/29, and 10/10 less 0/10.
        ((2, 7), (6, 7), 0.0582, 0.8062),
        ((0, 29), (5, 56), -0.0381, 0.1926),
        ((0, 10), (10, 10), 0.6075, 1.0000),
    ],
)
def test_difference_as_published(first: tuple[int, int], second: tuple[int, int], low: float, high: float) -> None:
    difference, *interval = newcombe(*first, *second)
    assert difference == pytest.approx(second[0] / second[1] - first[0] / first[1])
    assert interval == pytest.approx([low, high], abs=5e-5)


@tried
@given(counts(), counts(), confidences)
def test_difference_as_statsmodels(one: tuple[int, int], two: tuple[int, int], confidence: float) -> None:
    theirs = confint_proportions_2indep(*two, *one, method="newcomb", compare="diff", alpha=1 - confidence)
    assert newcombe(*one, *two, confidence)[1:] == pytest.approx(theirs, abs=1e-9)


def test_a_difference_needs_something_due_on_both_sides() -> None:
    with pytest.raises(ValueError, match="nothing was due on one side"):
        newcombe(0, 0, 3, 4)


# Control charts

# NIST/SEMATECH e-Handbook 6.3.3.2: the share of misregistered chips of 50 on each of 30 wafers. The mean .2313 is quoted in
# textbooks; the single shares and the limits .0524 and .4102 are from memory, and the shares give that mean.
WAFERS = """.24 .30 .16 .20 .08 .14 .32 .18 .28 .20 .10 .12 .34 .24 .44
            .16 .20 .10 .26 .22 .40 .36 .48 .30 .18 .24 .14 .26 .18 .12""".split()


def test_wafers_of_the_handbook() -> None:
    center, periods = p_chart([(round(float(share) * 50), 50) for share in WAFERS])
    assert center == pytest.approx(0.2313, abs=5e-5)
    assert [periods[0][0], periods[0][1]] == pytest.approx([0.0524, 0.4102], abs=5e-5)
    assert [n for n, (_, _, outside) in enumerate(periods, start=1) if outside] == [15, 23]


def test_limits_follow_the_size_of_a_period() -> None:
    center, periods = p_chart([(90, 100), (360, 400), (0, 0), (1, 4), (9, 10)])
    assert center == pytest.approx(460 / 514)
    widths = [upper - lower for lower, upper, _ in periods]
    assert widths[1] < widths[0] < widths[4]
    # By hand: 460/514 - 3 sqrt(460/514 * 54/514 / 400) = 0.8489, and + = 0.9409.
    assert periods[1][:2] == pytest.approx((0.8489, 0.9409), abs=5e-5)
    assert periods[2] == (0.0, 1.0, False)
    # 1 of 4 is outside: the lower limit is 0.8949 - 3 * 0.1533 = 0.4349.
    assert [outside for _, _, outside in periods] == [False, False, False, True, False]


@pytest.mark.parametrize("counts", [[(5, 5), (9, 9)], [(0, 5), (0, 9)]])
def test_a_chart_of_all_or_nothing_has_nobody_outside(counts: list[tuple[int, int]]) -> None:
    assert not any(outside for _, _, outside in p_chart(counts)[1])


def test_a_chart_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="nothing was due in any period"):
        p_chart([(0, 0), (0, 0)])


# A lasting change


def test_a_habit_dropped_in_june_is_found() -> None:
    year = [
        (45, 50),
        (44, 51),
        (46, 50),
        (43, 49),
        (47, 52),
        (3, 50),
        (2, 50),
        (4, 51),
        (1, 50),
        (2, 48),
        (3, 50),
        (2, 50),
    ]
    assert change_point(year) == 5
    assert change_point(year, alpha=0.001, comparisons=600) == 5


def test_one_bad_period_at_the_edge_of_chance_is_no_change() -> None:
    assert change_point([(45, 50)] * 6 + [(43, 50)] * 6) is None


def test_periods_with_nothing_due_begin_no_change() -> None:
    assert change_point([(0, 0), (48, 50), (0, 0), (0, 0), (5, 50), (0, 0)]) == 4
    assert change_point([(0, 0), (48, 50), (0, 0)]) is None
    assert change_point([]) is None


@pytest.mark.parametrize("met", [0, 20])
def test_nothing_changes_where_all_is_the_same(met: int) -> None:
    assert change_point([(met, 20)] * 12) is None


@tried
@given(counts(1, 300), counts(1, 300), st.integers(1, 50), st.sampled_from([0.01, 0.05, 0.2]))
def test_two_periods_as_the_likelihood_ratio_test_of_scipy(
    one: tuple[int, int], two: tuple[int, int], comparisons: int, alpha: float
) -> None:
    table = [[one[0], one[1] - one[0]], [two[0], two[1] - two[0]]]
    if 0 in map(sum, zip(*table, strict=True)):
        p = 1.0
    else:
        p = stats.chi2_contingency(table, correction=False, lambda_="log-likelihood").pvalue
    # A p-value on the line itself may fall on either side of it by rounding.
    if not math.isclose(p * comparisons, alpha, rel_tol=1e-6):
        assert change_point([one, two], alpha, comparisons) == (1 if p * comparisons < alpha else None)


def test_a_year_without_change_is_seldom_said_to_change() -> None:
    rng = np.random.default_rng(7)
    years = [[(int(met), 40) for met in rng.binomial(40, 0.85, size=12)] for _ in range(400)]
    # At most 5 % are expected, as Bonferroni is cautious; 8 % leaves room for three standard errors of 400 draws.
    assert sum(change_point(year) is not None for year in years) <= 0.08 * len(years)


# Agreement

# Two radiologists on 85 xeromammograms, four classes from normal to cancer (Boyd et al. 1982, as in the manual of Stata's
# kap). The table is from memory; the manual's agreement 86.67 % and expected 69.11 % with linear weights follow from it.
MAMMOGRAMS = [[21, 12, 0, 0], [4, 17, 1, 0], [3, 9, 15, 2], [0, 0, 0, 1]]


def labels(table: list[list[int]]) -> tuple[list[int], list[int]]:
    pairs = [(i, j) for i, row in enumerate(table) for j, count in enumerate(row) for _ in range(count)]
    return [i for i, _ in pairs], [j for _, j in pairs]


def test_agreement_of_two_readers_by_hand() -> None:
    # Steps apart: 12 + 4 + 1 + 3 * 2 + 9 + 2 = 34 of 85. Expected from the sums 33 22 29 1 and 28 38 16 3, step by step:
    # 33 (38 + 2*16 + 3*3) + 22 (28 + 16 + 2*3) + 29 (2*28 + 38 + 3) + 1 (3*28 + 2*38 + 16) = 6696, over 85 squared.
    expected = (33 * 79 + 22 * 50 + 29 * 97 + 176) / 85**2
    kappa, low, high = weighted_kappa(MAMMOGRAMS)
    assert kappa == pytest.approx(1 - (34 / 85) / expected)
    assert kappa == pytest.approx(1 - (1 - 0.8667) / (1 - 0.6911), abs=2e-4)
    assert low < kappa < high
    # A class that neither of the two used changes nothing.
    wider = [*([*row, 0] for row in MAMMOGRAMS), [0] * 5]
    assert weighted_kappa(wider) == pytest.approx((kappa, low, high))


@tried
@given(tables, st.sampled_from(["linear", "quadratic"]))
def test_kappa_as_scikit_learn(table: list[list[int]], weights: str) -> None:
    kappa = weighted_kappa(table, weights)[0]
    if kappa is not None:
        said, book = labels(table)
        theirs = cohen_kappa_score(said, book, labels=range(5), weights=weights)
        assert kappa == pytest.approx(theirs, abs=1e-9)


@tried
@given(tables, st.sampled_from([("linear", "linear"), ("quadratic", "quadratic")]), confidences)
def test_interval_of_kappa_as_statsmodels(table: list[list[int]], weights: tuple[str, str], confidence: float) -> None:
    kappa, low, high = weighted_kappa(table, weights[0], confidence)
    if kappa is None:
        return
    with warnings.catch_warnings():
        # statsmodels takes the root of a variance that rounding left a hair below zero, and divides by it.
        warnings.simplefilter("ignore", RuntimeWarning)
        theirs = cohens_kappa(np.array(table), wt=weights[1])
    error = 0.0 if math.isnan(theirs.std_kappa) else theirs.std_kappa
    half = stats.norm.ppf((1 + confidence) / 2) * error
    assert (kappa, low, high) == pytest.approx((theirs.kappa, max(-1, kappa - half), min(1, kappa + half)), abs=1e-6)


def test_kappa_at_its_edges() -> None:
    everyone_agrees = [[7 if i == j else 0 for j in range(5)] for i in range(5)]
    assert weighted_kappa(everyone_agrees) == pytest.approx((1.0, 1.0, 1.0))
    one_class = [[0] * 5 for _ in range(4)] + [[0, 0, 0, 0, 9]]
    assert weighted_kappa(one_class) == (None, None, None)
    assert weighted_kappa([[0] * 5 for _ in range(5)]) == (None, None, None)


# Sample size


def test_sample_size_as_in_cochran() -> None:
    # Cochran 1977, section 4.4 (from memory): d 5 %, P about 50 %, t = 2 give 400; of 3,200 people on the island, 356.
    two_sigmas = 2 * stats.norm.cdf(2) - 1
    assert sample_size(0.05, two_sigmas) == 400
    assert sample_size(0.05, two_sigmas, population=3200) == 356
    # A share that is known to be 0 still takes one look, of a population of one too.
    assert sample_size(0.05, share=0) == sample_size(0.05, share=0, population=1) == 1
    # 1.96 squared times 0.25 over 0.0025 is 384.16; the next whole number.
    assert sample_size(0.05) == 385


@tried
@given(st.floats(0.005, 0.4), confidences, st.floats(0, 1), st.none() | st.integers(1, 500_000))
def test_a_sample_of_that_size_is_precise_enough_and_one_less_is_not(
    precision: float, confidence: float, share: float, population: int | None
) -> None:
    def half_width(n: int) -> float:
        fewer = 1 if population is None else (population - n) / (population - 1)
        return stats.norm.ppf((1 + confidence) / 2) * math.sqrt(share * (1 - share) / n * fewer)

    n = sample_size(precision, confidence, share, population)
    assert n >= 1 and (population is None or n <= population)
    if population != 1:
        assert half_width(n) <= precision * (1 + 1e-6)
        if n > 1:
            assert half_width(n - 1) > precision * (1 - 1e-6)


# Many comparisons


def test_sidak_by_hand() -> None:
    # 0.95 to the power of 1/3 is 0.98305 (three comparisons, from the usual table of Šidák's correction).
    assert per_comparison(0.95, 3) == pytest.approx(0.98305, abs=5e-6)
    assert per_comparison(0.95, 1) == 0.95
    assert per_comparison(0.95, 600) ** 600 == pytest.approx(0.95)


def test_intervals_that_touch_are_not_apart() -> None:
    assert apart((0.1, 0.2), (0.3, 0.4)) and apart((0.3, 0.4), (0.1, 0.2))
    assert not apart((0.1, 0.3), (0.3, 0.4))
    assert not apart((0.0, 1.0), (0.3, 0.4))


def accused(rng: np.random.Generator, confidence: float, people: int = 40, points: int = 15) -> int:
    """How many of people who are all alike stand apart from the others on some point, a year of 300 occasions each."""
    met = rng.binomial(300, rng.uniform(0.3, 0.98, size=points), size=(people, points))
    return sum(
        apart(
            wilson(int(met[who, point]), 300, confidence),
            wilson(int(met[:, point].sum() - met[who, point]), 300 * (people - 1), confidence),
        )
        for who in range(people)
        for point in range(points)
    )


def test_forty_people_who_are_all_alike_accuse_nobody() -> None:
    rng = np.random.default_rng(1)
    careful = per_comparison(0.95, 40 * 15)
    # At most 5 % of repetitions would accuse somebody if one interval alone had to miss a known share. Here two must lie
    # apart, which is rarer: about 1 in 200. Four of 40 would be more than that by far.
    assert sum(accused(rng, careful) > 0 for _ in range(40)) <= 3
    # Without the correction, chance accuses somebody nearly every time: 600 comparisons at about 1 in 40.
    assert sum(accused(rng, 0.95) > 0 for _ in range(5)) == 5


def test_the_same_caution_still_sees_a_habit() -> None:
    careful = per_comparison(0.95, 40 * 15)
    assert apart(wilson(180, 300, careful), wilson(39 * 270, 39 * 300, careful))


def test_one_who_never_does_it_makes_nobody_else_stand_out() -> None:
    rng = np.random.default_rng(2)
    careful = per_comparison(0.95, 40 * 15)
    crew = {f"T{n:02d}": (int(rng.binomial(3000, 0.93)), 3000) for n in range(1, 41)} | {"T07": (0, 3000)}
    met, due = map(sum, zip(*(count for who, count in crew.items() if who != "T07"), strict=True))
    assert standing_out(crew, careful) == {"T07": (met, due)}
    # Held against all the others as they are, some of the alike would be "better" than the others.
    dragged = [
        who
        for who, (own, n) in crew.items()
        if apart(wilson(own, n, careful), wilson(met - own, due + 3000 - n, careful)) and who != "T07"
    ]
    assert dragged


def test_the_farthest_off_stands_first_and_everyone_is_held_against_the_rest() -> None:
    crew = {f"T{n:02d}": (450, 500) for n in range(1, 11)} | {"T03": (350, 500), "T08": (100, 500), "T09": (500, 500)}
    assert standing_out(crew) == {"T08": (3150, 3500), "T03": (3150, 3500), "T09": (3150, 3500)}
    assert list(standing_out(crew)) == ["T08", "T03", "T09"]


def test_without_a_majority_nobody_stands_out() -> None:
    assert standing_out({"A": (90, 100), "B": (10, 100)}) == {}
    assert standing_out({f"A{n}": (90, 100) for n in range(3)} | {f"B{n}": (10, 100) for n in range(3)}) == {}
    assert standing_out({"A": (90, 100)}) == standing_out({}) == standing_out({"A": (90, 100), "B": (0, 0)}) == {}


# The mean of scores


@tried
@given(st.lists(st.floats(0, 1), min_size=2, max_size=150), confidences)
def test_mean_as_scipy(scores: list[float], confidence: float) -> None:
    mean, low, high = ratio_mean(len(scores), math.fsum(scores), math.fsum(x * x for x in scores), confidence)
    error = float(np.std(scores, ddof=1)) / math.sqrt(len(scores))
    half = stats.t.ppf((1 + confidence) / 2, len(scores) - 1) * error
    theirs = float(np.mean(scores))
    # Sums of squares lose digits where all scores are alike.
    assert (mean, low, high) == pytest.approx(
        (theirs, max(0, theirs - half), min(1, theirs + half)), abs=2e-4, rel=1e-6
    )


@pytest.mark.parametrize(
    ("freedom", "confidence", "t"),
    # Student's t, NIST/SEMATECH e-Handbook 1.3.6.7.2, as quoted in every textbook (from memory).
    [(1, 0.95, 12.706), (2, 0.95, 4.303), (5, 0.99, 4.032), (10, 0.95, 2.228), (30, 0.95, 2.042), (100, 0.95, 1.984)],
)
def test_interval_of_a_mean_by_the_table(freedom: int, confidence: float, t: float) -> None:
    n = freedom + 1
    # Half of the scores 0.49 and half 0.51 (one in the middle where n is odd), so that nothing is clipped.
    scores = [0.5 + (0.001 if i % 2 else -0.001) for i in range(n - n % 2)] + [0.5] * (n % 2)
    mean, low, high = ratio_mean(n, math.fsum(scores), math.fsum(x * x for x in scores), confidence)
    error = math.sqrt((n - n % 2) * 0.001**2 / freedom / n)
    assert mean == pytest.approx(0.5)
    assert (high - low) / 2 / error == pytest.approx(t, abs=6e-4)


@pytest.mark.parametrize("freedom", [1, 2, 3, 12, 29, 58, 59, 60, 61, 200, 5000])
@pytest.mark.parametrize("confidence", [0.5, 0.95, 0.9999])
def test_quantiles_of_student_as_scipy(freedom: int, confidence: float) -> None:
    # Scores a hair to either side of 0.5: their standard error is known, nothing is clipped, and t is what stretches it.
    n = freedom + 1
    tiny = 5e-5
    ones = n // 2
    sum_x, sum_xx = n * 0.5 + tiny * (2 * ones - n), n * 0.25 + n * tiny**2 + tiny * (2 * ones - n)
    _, low, high = ratio_mean(n, sum_x, sum_xx, confidence)
    error = math.sqrt((n * tiny**2 - (tiny * (2 * ones - n)) ** 2 / n) / freedom / n)
    assert (high - low) / 2 / error == pytest.approx(stats.t.ppf((1 + confidence) / 2, freedom), rel=1e-5)


def test_one_score_alone_tells_nothing_of_the_others() -> None:
    assert ratio_mean(1, 0.8, 0.64) == (0.8, 0.0, 1.0)


# What is refused


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: wilson(3, 2), "3 of 2 is no count"),
        (lambda: wilson(-1, 2), "-1 of 2 is no count"),
        (lambda: wilson(1, 2, 95), "confidence is a number between 0 and 1, not 95"),
        (lambda: p_chart([(1, 2)], sigmas=0), "sigmas above 0"),
        (lambda: p_chart([(5, 2)]), "5 of 2 is no count"),
        (lambda: change_point([(1, 2)], alpha=5), "alpha is a number between 0 and 1"),
        (lambda: change_point([(1, 2)], comparisons=0), "at least 1 comparison"),
        (lambda: weighted_kappa([[1, 2], [3]]), "square table"),
        (lambda: weighted_kappa([[1, -2], [3, 4]]), "counts of 0 or more"),
        (lambda: sample_size(5), "precision is a number between 0 and 1, not 5"),
        (lambda: sample_size(0.05, share=50), "a share is from 0 to 1, not 50"),
        (lambda: sample_size(0.05, population=0), "at least 1, not 0"),
        (lambda: per_comparison(0.95, 0), "at least 1 comparison"),
        (lambda: ratio_mean(0, 0, 0), "at least one score"),
        (lambda: ratio_mean(2, 5, 5), "no sums of 2 scores"),
    ],
)
def test_numbers_that_cannot_be_are_refused_in_one_line(call, says: str) -> None:
    with pytest.raises(ValueError, match=says) as problem:
        call()
    assert "\n" not in str(problem.value)
