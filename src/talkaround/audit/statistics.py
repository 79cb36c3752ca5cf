"""The arithmetic of an audit: intervals, control limits, a lasting change, agreement, sample sizes.

Pure functions of counts. ``met`` of ``due`` occasions is a share; shares, confidences and scores are numbers from 0 to 1,
never percent. All of them raise ``ValueError`` with one line where the numbers cannot be counts or a share.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from math import ceil, cos, erfc, inf, log, pi, sin, sqrt
from statistics import NormalDist
from typing import Literal

from talkaround.audit.report import Share

Interval = tuple[float, float]
Count = tuple[int, int]
"""``met`` and ``due``."""

# Below this many degrees of freedom the expansion of Student's t is not good to six decimals at 99.99 %.
EXPANSION_FROM = 60


FEW = 30
"""Occasions below which a share is told as resting on few: common practice in statistics, no source."""


def wilson(met: int, due: int, confidence: float = 0.95) -> Interval:
    """The score interval of a share, ``(low, high)``, both 0..1.

    Wilson 1927; NIST/SEMATECH e-Handbook of Statistical Methods 7.2.4.1. Without continuity correction. Of nothing (``due``
    0) it is ``(0.0, 1.0)``. Where ``met`` is 0, ``low`` is exactly 0; where ``met`` is ``due``, ``high`` is exactly 1.

    Raises ``ValueError`` where ``met`` is not from 0 to ``due``, or ``confidence`` not between 0 and 1.
    """
    _check_count(met, due)
    z = _z(confidence)
    if due == 0:
        return 0.0, 1.0
    share = met / due
    middle = share + z * z / (2 * due)
    half = z * sqrt(share * (1 - share) / due + z * z / (4 * due * due))
    scale = 1 + z * z / due
    low = 0.0 if met == 0 else max(0.0, (middle - half) / scale)
    high = 1.0 if met == due else min(1.0, (middle + half) / scale)
    return low, high


def share_of(met: int, due: int, confidence: float = 0.95, few_below: int = FEW) -> Share:
    """``met`` of ``due`` with its Wilson interval; ``few`` where ``due`` is less than ``few_below``. Raises as ``wilson``."""
    low, high = wilson(met, due, confidence)
    return Share(met=met, due=due, low=low, high=high, few=due < few_below)


def newcombe(met1: int, due1: int, met2: int, due2: int, confidence: float = 0.95) -> tuple[float, float, float]:
    """The second share less the first, with its hybrid score interval: ``(difference, low, high)``, each -1..1.

    Newcombe 1998 (Statistics in Medicine 17:873-890), method 10: the Wilson intervals of the two, without continuity
    correction. It always holds the difference itself, also where a share is 0 or 1.

    Raises ``ValueError`` as ``wilson``, and where nothing was due on one of the two sides: there is no difference then.
    """
    low1, high1 = wilson(met1, due1, confidence)
    low2, high2 = wilson(met2, due2, confidence)
    if due1 == 0 or due2 == 0:
        raise ValueError(f"nothing was due on one side ({due1} and {due2}): there is no difference to tell")
    share1, share2 = met1 / due1, met2 / due2
    difference = share2 - share1
    low = difference - sqrt((share2 - low2) ** 2 + (high1 - share1) ** 2)
    high = difference + sqrt((high2 - share2) ** 2 + (share1 - low1) ** 2)
    return difference, max(-1.0, low), min(1.0, high)


def p_chart(counts: Sequence[Count], sigmas: float = 3.0) -> tuple[float, list[tuple[float, float, bool]]]:
    """Center line and limits of a p-chart: ``(center, [(lower, upper, outside)])``, one for each period, in their order.

    NIST/SEMATECH e-Handbook 6.3.3.2, with limits that follow each period's own size: center ± ``sigmas`` times
    sqrt(center (1 - center) / due), clipped to 0..1. The center is all that was met of all that was due. A period in
    which nothing was due has limits 0 and 1 and is never outside; a share on a limit is not outside.

    Raises ``ValueError`` as ``wilson``, where ``sigmas`` is not above 0, and where nothing was due in any period.
    """
    for met, due in counts:
        _check_count(met, due)
    if not sigmas > 0:
        raise ValueError(f"control limits need a number of sigmas above 0, not {sigmas}")
    total = sum(due for _, due in counts)
    if total == 0:
        raise ValueError("nothing was due in any period: there is no chart to draw")
    center = sum(met for met, _ in counts) / total
    periods = []
    for met, due in counts:
        if due == 0:
            periods.append((0.0, 1.0, False))
            continue
        reach = sigmas * sqrt(center * (1 - center) / due)
        lower, upper = max(0.0, center - reach), min(1.0, center + reach)
        periods.append((lower, upper, not lower <= met / due <= upper))
    return center, periods


def change_point(counts: Sequence[Count], alpha: float = 0.05, comparisons: int = 1) -> int | None:
    """Index of the first period after the one lasting change that splits the periods best, or None where none is shown.

    The likelihood-ratio change-point of binomials (Hinkley & Hinkley 1970, Biometrika 57:477-488, who give it for single
    0/1 outcomes; here the change falls between periods). For each split, twice the log likelihood ratio of two shares
    against one; the greatest is held against the chi-square distribution with 1 degree of freedom (Wilks 1938), its
    p-value times the number of splits and times ``comparisons`` (Bonferroni). Bonferroni is cautious here, as
    neighbouring splits share most of their counts. The chi-square is a large-sample distribution: with a handful of
    occasions on a side it is rough.

    Periods in which nothing was due cannot be where a change begins. None where fewer than two periods had anything due,
    and where all shares are 0 or all are 1. Of two equally good splits the earlier one stands.

    Raises ``ValueError`` as ``wilson``, where ``alpha`` is not between 0 and 1, or ``comparisons`` less than 1.
    """
    for met, due in counts:
        _check_count(met, due)
    _check_confidence(alpha, "alpha")
    _check_comparisons(comparisons)
    all_met, all_due = sum(met for met, _ in counts), sum(due for _, due in counts)
    one = _log_likelihood(all_met, all_due)
    met_before = due_before = splits = 0
    best, at = -inf, None
    for index, (met, due) in enumerate(counts):
        if due and due_before:
            splits += 1
            two = _log_likelihood(met_before, due_before) + _log_likelihood(all_met - met_before, all_due - due_before)
            if two - one > best:
                best, at = two - one, index
        met_before += met
        due_before += due
    if at is None:
        return None
    # Twice the log ratio is chi-square with one degree of freedom, whose tail is erfc(sqrt(x / 2)).
    p = erfc(sqrt(max(0.0, best)))
    return at if p * splits * comparisons <= alpha else None


def weighted_kappa(
    table: Sequence[Sequence[int]], weights: Literal["linear", "quadratic"] = "linear", confidence: float = 0.95
) -> tuple[float | None, float | None, float | None]:
    """Weighted kappa of a square table of counts over ordered classes: ``(kappa, low, high)``, each -1..1.

    Cohen 1968 (Psychological Bulletin 70:213-220); disagreement grows with the distance of the classes, or with its
    square. Interval: the large-sample standard error of Fleiss, Cohen & Everitt 1969 (Psychological Bulletin 72:323-327)
    times the normal quantile, clipped to -1..1. Where all agree kappa is 1 and the interval has no width.

    ``(None, None, None)`` where the expected disagreement is 0: nothing counted, or everything in one class.

    Raises ``ValueError`` where the table is not square, has fewer than two classes, a negative count, or ``confidence`` is
    not between 0 and 1.
    """
    size = len(table)
    if size < 2 or any(len(row) != size for row in table):
        raise ValueError(f"kappa needs a square table of at least 2 classes, not rows of {[len(row) for row in table]}")
    if any(count < 0 for row in table for count in row):
        raise ValueError("kappa needs counts of 0 or more")
    z = _z(confidence)
    total = sum(map(sum, table))
    if total == 0:
        return None, None, None
    classes = range(size)
    power = 1 if weights == "linear" else 2
    weight = [[1 - (abs(i - j) / (size - 1)) ** power for j in classes] for i in classes]
    share = [[count / total for count in row] for row in table]
    rows = [sum(share[i]) for i in classes]
    columns = [sum(share[i][j] for i in classes) for j in classes]
    seen_disagreement = sum(share[i][j] * (1 - weight[i][j]) for i in classes for j in classes)
    disagreement = sum(rows[i] * columns[j] * (1 - weight[i][j]) for i in classes for j in classes)
    if disagreement == 0:
        return None, None, None
    kappa = 1 - seen_disagreement / disagreement
    of_row = [sum(columns[j] * weight[i][j] for j in classes) for i in classes]
    of_column = [sum(rows[i] * weight[i][j] for i in classes) for j in classes]
    spread = sum(
        share[i][j] * (weight[i][j] - (of_row[i] + of_column[j]) * (1 - kappa)) ** 2 for i in classes for j in classes
    )
    variance = (spread - (kappa - (1 - disagreement) * (1 - kappa)) ** 2) / (total * disagreement**2)
    # Rounding can leave a hair below zero where all agree.
    half = z * sqrt(max(0.0, variance))
    return kappa, max(-1.0, kappa - half), min(1.0, kappa + half)


def sample_size(precision: float, confidence: float = 0.95, share: float = 0.5, population: int | None = None) -> int:
    """How many to draw at random so that a share is known within ± ``precision``, rounded up, at least 1.

    Cochran 1977, Sampling Techniques, sections 4.2 to 4.4: n0 = z² p q / d², and with a ``population`` of N the finite
    correction n = n0 / (1 + (n0 - 1) / N), never more than N. ``share`` 0.5 is the most that can be needed.

    Raises ``ValueError`` where ``precision`` or ``confidence`` is not between 0 and 1, ``share`` not from 0 to 1, or
    ``population`` less than 1.
    """
    _check_confidence(precision, "precision")
    if not 0 <= share <= 1:
        raise ValueError(f"a share is from 0 to 1, not {share}")
    if population is not None and population < 1:
        raise ValueError(f"a population to draw from has at least 1, not {population}")
    needed = max(1.0, _z(confidence) ** 2 * share * (1 - share) / precision**2)
    if population is not None:
        needed = min(needed / (1 + (needed - 1) / population), population)
    # A hair of rounding above a whole number is not one more.
    return ceil(needed - 1e-9)


def per_comparison(confidence: float, comparisons: int) -> float:
    """The confidence of each of ``comparisons`` intervals so that all of them together hold with ``confidence``.

    Šidák 1967 (Journal of the American Statistical Association 62:626-633): confidence ** (1 / comparisons), exact where
    the comparisons are independent of each other. One comparison leaves it as it is.

    Raises ``ValueError`` where ``confidence`` is not between 0 and 1, or ``comparisons`` less than 1.
    """
    _check_confidence(confidence)
    _check_comparisons(comparisons)
    return float(confidence ** (1 / comparisons))


def apart(a: Interval, b: Interval) -> bool:
    """Whether two intervals ``(low, high)`` share no point; intervals that touch are not apart."""
    return a[1] < b[0] or b[1] < a[0]


def standing_out(counts: Mapping[str, Count], confidence: float = 0.95) -> dict[str, Count]:
    """Who lies apart from all the others together, with the count that each was held against, the farthest off first.

    Wilson intervals of the one and of the others together, both at ``confidence`` (see ``per_comparison``); of those that
    are ``apart``, the one with the widest gap is set aside, and the rest are looked at again without it, until nobody
    lies apart. Otherwise one who never does a thing would drag the others down so far that everybody else looked better
    than them (masking; the stepwise way of Rosner 1983, Technometrics 25:165-172, with our own measure of distance).
    The counts given back are of those who are left at the end. They must be more than half: without such a majority there
    is nobody to lie apart from, and the answer is empty (so it is for two people).

    Those with nothing due never stand out. Raises ``ValueError`` as ``wilson``.
    """
    left = {who: count for who, count in counts.items() if count[1]}
    own = {who: wilson(*count, confidence) for who, count in left.items()}
    most = (len(left) - 1) // 2
    met, due = sum(count[0] for count in left.values()), sum(count[1] for count in left.values())
    aside: list[str] = []
    while len(left) > 1:
        gaps = {}
        for who, (met_own, due_own) in left.items():
            others = wilson(met - met_own, due - due_own, confidence)
            if apart(own[who], others):
                gaps[who] = max(own[who][0] - others[1], others[0] - own[who][1])
        if not gaps:
            break
        if len(aside) == most:
            return {}
        farthest = max(gaps, key=gaps.__getitem__)
        aside.append(farthest)
        met, due = met - left[farthest][0], due - left[farthest][1]
        del left[farthest]
    # Whoever was set aside while others still blurred the picture may not lie apart from those who are left.
    return {who: (met, due) for who in aside if apart(own[who], wilson(met, due, confidence))}


def ratio_mean(n: int, sum_x: float, sum_xx: float, confidence: float = 0.95) -> tuple[float, float, float]:
    """The mean of ``n`` scores from 0 to 1, with Student's t interval clipped to 0..1: ``(mean, low, high)``.

    ``sum_x`` is the sum of the scores, ``sum_xx`` that of their squares. Student 1908; NIST/SEMATECH e-Handbook 1.3.5.2.
    One score alone gives ``low`` 0 and ``high`` 1. Scores that are all the same give an interval of no width, however few.

    Raises ``ValueError`` where ``n`` is less than 1, the sums cannot be those of ``n`` scores from 0 to 1, or
    ``confidence`` is not between 0 and 1.
    """
    _check_confidence(confidence)
    if n < 1:
        raise ValueError(f"a mean needs at least one score, not {n}")
    hair = 1e-9 * n
    if not (-hair <= sum_x <= n + hair and sum_x * sum_x / n - hair <= sum_xx <= sum_x + hair):
        raise ValueError(f"{sum_x} and {sum_xx} are no sums of {n} scores from 0 to 1 and of their squares")
    mean = min(1.0, max(0.0, sum_x / n))
    if n == 1:
        return mean, 0.0, 1.0
    variance = max(0.0, sum_xx - n * mean * mean) / (n - 1)
    half = _t(confidence, n - 1) * sqrt(variance / n)
    return mean, max(0.0, mean - half), min(1.0, mean + half)


@lru_cache(maxsize=256)
def _z(confidence: float) -> float:
    """The normal quantile that leaves half of what ``confidence`` leaves out on either side."""
    _check_confidence(confidence)
    # From the tail: 1 less a confidence close to 1 keeps its digits.
    return -NormalDist().inv_cdf((1 - confidence) / 2)


@lru_cache(maxsize=4096)
def _t(confidence: float, freedom: int) -> float:
    """The two-sided quantile of Student's t.

    Below 60 degrees of freedom the closed form of its distribution, halved in until nothing is left; above, the expansion
    about the normal quantile (Abramowitz & Stegun 1964, 26.7.3-4 and 26.7.5).
    """
    if freedom >= EXPANSION_FROM:
        z, v = _z(confidence), freedom
        return (
            z
            + (z**3 + z) / (4 * v)
            + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * v**2)
            + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * v**3)
            + (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / (92160 * v**4)
        )
    # The distribution is one of the angle atan(t / sqrt(freedom)), from 0 to a right angle.
    low, high = 0.0, pi / 2
    for _ in range(60):
        angle = (low + high) / 2
        low, high = (angle, high) if _within(angle, freedom) < confidence else (low, angle)
    return sqrt(freedom) * sin(low) / cos(low)


def _within(angle: float, freedom: int) -> float:
    """The chance that Student's t lies within ± sqrt(freedom) * tan(angle); Abramowitz & Stegun 26.7.3 and 26.7.4."""
    c, s = cos(angle), sin(angle)
    if freedom % 2 == 0:
        term = total = 1.0
        for k in range(1, freedom // 2):
            term *= c * c * (2 * k - 1) / (2 * k)
            total += term
        return s * total
    total, term = 0.0, c
    for k in range(1, (freedom - 1) // 2 + 1):
        total += term
        term *= c * c * (2 * k) / (2 * k + 1)
    return 2 / pi * (angle + s * total)


def _log_likelihood(met: int, due: int) -> float:
    """Of ``met`` out of ``due`` at their own share; 0 where the share is 0 or 1, or nothing was due."""
    if met in (0, due):
        return 0.0
    return met * log(met / due) + (due - met) * log((due - met) / due)


def _check_count(met: int, due: int) -> None:
    if not 0 <= met <= due:
        raise ValueError(f"{met} of {due} is no count: met is from 0 to due")


def _check_confidence(value: float, name: str = "confidence") -> None:
    if not 0 < value < 1:
        raise ValueError(f"{name} is a number between 0 and 1, not {value}")


def _check_comparisons(comparisons: int) -> None:
    if comparisons < 1:
        raise ValueError(f"there is at least 1 comparison, not {comparisons}")
