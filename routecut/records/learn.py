r"""What cables really took against what was planned for them: bias and spread, with intervals.

Stage      records; plans with their records in, figures out; changes no job
Units      m; lay as a share of the route
Model      see `Lesson`; Student and chi-square intervals as in any textbook of statistics

A cable that was cut to :math:`c` with :math:`o` left over took :math:`u = c - o`. Of the plan of the cable,
:math:`x` is the length of the route that was computed and not measured with a string, and :math:`f` all of the
sum that is no lay, no uncertainty and no rounding. What laying took is :math:`l = (u - f) / x`, the real figure
behind `lay_percent`. Taken to be normal, independent from cable to cable, and alike for short and long ones:

* bias: :math:`\bar l \pm t_{n-1} s / \sqrt n` holds the mean
* spread: :math:`s \sqrt{(n - 1) / \chi^2_{n-1}}` holds the standard deviation
* the next cable: :math:`\bar l + t_{n-1, p} s \sqrt{1 + 1/n}` is enough for it with probability p

By kind of stretch and for the loops: least squares of :math:`l` over the shares of each kind in the route and over
loops per metre, with the Student intervals of its coefficients.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from statistics import NormalDist
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy import stats

from routecut.model.learnt import FEWEST, LEVEL, Interval, Learnt, Lesson, Proposal, Stretches, Taken
from routecut.model.plan import Plan
from routecut.records.taken import LOOPS, taken_of

Floats = npt.NDArray[np.float64]

FEWEST_OF_A_KIND: Final = 5
"""Cables that must have a kind of stretch or loop before it gets a figure of its own (common practice, no source)."""

VEHICLES_DIFFER: Final = 0.01
"""Chance below which vehicles are said to differ more than their cables do."""

ON_PANELS: Final = "along open panels"
BEHIND_TRIM: Final = "behind trim"
_EVEN: Final = 0.5
_ILL: Final = 1e6  # condition of the design beyond which kinds can't be told apart


def learn(plans: Sequence[tuple[str, Plan]]) -> Learnt:
    """Learn from plans and their records.

    Parameters
    ----------
    plans : sequence of (str, Plan)
        What each vehicle is called, and its plan with the record.
    """
    taken: list[Taken] = []
    left_out: list[tuple[str, str]] = []
    for vehicle, plan in plans:
        for planned in plan.cables:
            found = taken_of(vehicle, plan, planned)
            if isinstance(found, Taken):
                taken.append(found)
            else:
                left_out.append((f"{vehicle}: {planned.cable.name}", found))
    return lessons(taken, left_out=left_out, practice=[plan.job.lengths for _, plan in plans])


def lessons(
    taken: Sequence[Taken],
    *,
    left_out: Sequence[tuple[str, str]] = (),
    practice: Sequence[object] = (),
) -> Learnt:
    """The same from cables that have been counted already."""
    every = lesson("all cables", taken)
    by_class = Counter(t.cable_class for t in taken)
    classes = tuple(lesson(c, [t for t in taken if t.cable_class == c]) for c in sorted(by_class))
    stretches, apart = by_stretch(taken)
    return Learnt(
        taken=tuple(taken),
        left_out=tuple(left_out),
        every=every,
        classes=classes,
        stretches=stretches,
        apart=apart,
        vehicles_differ=_vehicles_differ(taken),
        proposals=tuple(_proposals(taken, every, stretches, practice)),
    )


def mean_interval(values: Floats) -> Interval:
    """The mean, and where it lies: Student."""
    n, mean, s = len(values), float(values.mean()), float(values.std(ddof=1))
    half = float(stats.t.ppf((1.0 + LEVEL) / 2.0, n - 1)) * s / math.sqrt(n)
    return Interval(value=mean, low=mean - half, high=mean + half)


def spread_interval(values: Floats) -> Interval:
    """The standard deviation, and where it lies: chi-square."""
    n, s = len(values), float(values.std(ddof=1))
    low, high = (float(stats.chi2.ppf(p, n - 1)) for p in ((1.0 + LEVEL) / 2.0, (1.0 - LEVEL) / 2.0))
    return Interval(value=s, low=s * math.sqrt((n - 1) / low), high=s * math.sqrt((n - 1) / high))


def enough_for_next(values: Floats, probability: float) -> float:
    """So much is enough for the next of the same kind with a probability, counted from the mean: Student."""
    n, s = len(values), float(values.std(ddof=1))
    return float(stats.t.ppf(probability, n - 1)) * s * math.sqrt(1.0 + 1.0 / n)


def lesson(about: str, taken: Sequence[Taken]) -> Lesson:
    """What some cables say together."""
    if len(taken) < FEWEST:
        return Lesson(about=about, number=len(taken))
    lay = np.array([t.lay for t in taken])
    bias = np.array([(t.used_m - t.planned_m) / t.open_m for t in taken])
    return Lesson(
        about=about,
        number=len(taken),
        lay=mean_interval(lay),
        spread=spread_interval(lay),
        bias=mean_interval(bias),
    )


def by_stretch(taken: Sequence[Taken]) -> tuple[tuple[Stretches, ...], str]:
    """Lay on panels and behind trim, and what each sort of loop takes; with why they can't be told apart."""
    if len(taken) < FEWEST:
        return (), f"{len(taken)} cables are too few; {FEWEST} are wanted"
    trim = np.array([t.trim for t in taken])
    x = np.array([t.open_m for t in taken])
    columns: list[tuple[str, str, Floats, int, float]] = []
    lay = float(np.mean([(t.planned_m - t.fixed_m) / t.open_m for t in taken]))
    for about, share in ((ON_PANELS, 1.0 - trim), (BEHIND_TRIM, trim)):
        has = int((share > 0.1).sum())
        if has >= FEWEST_OF_A_KIND:
            columns.append((about, "%", share, has, lay))
    if len(columns) < 2:
        # one kind alone is all of the lay
        columns = [
            (ON_PANELS if trim.mean() < 0.5 else BEHIND_TRIM, "%", np.ones(len(taken)), len(taken), lay)
        ]
    for loop in LOOPS:
        number = np.array([t.loops[loop] for t in taken], dtype=np.float64)
        has = int((number > 0).sum())
        if has >= FEWEST_OF_A_KIND:
            planned = math.fsum(t.loops_m[loop] for t in taken) / float(number.sum())
            columns.append((loop, "m", number / x, has, planned))
    design = np.column_stack([c[2] for c in columns])
    free = len(taken) - len(columns)
    if free < FEWEST_OF_A_KIND - 1:
        return (), f"{len(taken)} cables are too few for {len(columns)} kinds"
    scaled = design / np.linalg.norm(design, axis=0)
    if float(np.linalg.cond(scaled)) > _ILL:
        return (), "the kinds come together in every cable: none can be told from the others"
    # loops as planned are in the sum already: they are taken out and fitted
    y = np.array(
        [
            (t.used_m - t.fixed_m + math.fsum(t.loops_m[c[0]] for c in columns if c[1] == "m")) / t.open_m
            for t in taken
        ]
    )
    fitted, *_ = np.linalg.lstsq(design, y, rcond=None)
    left = y - design @ fitted
    variance = float(left @ left) / free
    errors = np.sqrt(np.diag(np.linalg.inv(design.T @ design)) * variance)
    t = float(stats.t.ppf((1.0 + LEVEL) / 2.0, free))
    return (
        tuple(
            Stretches(
                about=about,
                number=has,
                figure=Interval(value=float(b), low=float(b - t * e), high=float(b + t * e)),
                unit=unit,
                planned=planned,
            )
            for (about, unit, _, has, planned), b, e in zip(columns, fitted, errors, strict=True)
        ),
        "",
    )


def _vehicles_differ(taken: Sequence[Taken]) -> float | None:
    """The chance of the vehicles' means lying so far apart by accident: analysis of variance, one way."""
    groups = [[t.lay for t in taken if t.vehicle == v] for v in sorted({t.vehicle for t in taken})]
    groups = [g for g in groups if len(g) > 1]
    if len(groups) < 2 or len(taken) < FEWEST or max(float(np.ptp(g)) for g in groups) == 0.0:
        return None
    chance = float(stats.f_oneway(*groups).pvalue)
    return chance if chance < VEHICLES_DIFFER else None


def _proposals(
    taken: Sequence[Taken], every: Lesson, stretches: Sequence[Stretches], practice: Sequence[object]
) -> Iterator[Proposal]:
    if every.lay is None or every.spread is None:
        return
    n = every.number
    confidence = _common(practice, "confidence") or LEVEL
    confidence = confidence if confidence > _EVEN else LEVEL
    # so that z times it is what Student asks for the next cable
    enough = enough_for_next(np.array([t.lay for t in taken]), confidence)
    error = enough / NormalDist().inv_cdf(confidence)
    lay = every.lay
    yield Proposal(
        key="lay_percent",
        value=max(0.0, 100.0 * lay.value),
        now=_percent(_common(practice, "lay")),
        why=f"mean of {n} cables; between {100 * lay.low:.2f} and {100 * lay.high:.2f} at {100 * LEVEL:g} %",
    )
    yield Proposal(
        key="lay_error_percent",
        value=100.0 * error,
        now=_percent(_common(practice, "lay_sigma")),
        why=f"spread {100 * every.spread.value:.2f} of {n} cables (between {100 * every.spread.low:.2f} and "
        f"{100 * every.spread.high:.2f}), widened so that the next cable is long enough with {confidence * 100:g} %",
    )
    for found in stretches:
        if found.unit != "m" or found.about == "service loop" or found.figure.holds(found.planned):
            continue
        yield Proposal(
            key=f"{found.about.split(maxsplit=1)[0]}_loop",
            value=max(0.0, found.figure.value),
            now=found.planned,
            why=f"{found.number} cables have one; between {1000 * found.figure.low:.0f} and "
            f"{1000 * found.figure.high:.0f} mm at {100 * LEVEL:g} %, which leaves out what was planned",
        )


def _common(practice: Sequence[object], name: str) -> float | None:
    """A figure all jobs have in common."""
    found = {getattr(p, name) for p in practice}
    return float(found.pop()) if len(found) == 1 else None


def _percent(share: float | None) -> float | None:
    return None if share is None else 100.0 * share
