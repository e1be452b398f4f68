"""How near to the best the rotation plan is, on generated problems with fixed seeds.

Peak memory is the process's, so a size's own is measured by asking for that size alone. Time
limits are by the clock, and wide, for other work may run beside; ``cpu_s`` is the processor's.

Every figure is over the seeds 1 to 3 of a size (hard and huge: seed 1), on the same-wind rule
as it stands: expected uses by the forecast's chance of each sector. Gaps compare the blended
score (the l-th sit of a member 1400 − 100·l points, never below 100, and quality 0 to 100 a
sit) with a bound that
is recomputed from the linear model's duals in whole numbers, so that it holds whatever the
solver's tolerances. Hard and huge run only when asked for by name.
"""

import resource
import time
from collections.abc import Iterator

from scheduling.rotation.audit import audit
from scheduling.rotation.greedy import BASELINES
from scheduling.rotation.model.blend import BlendedPlan, blended_score, solve_blended
from scheduling.rotation.model.solve import solve
from scheduling.rotation.problem import RotationProblem
from tests.benchmarks.rotation_instances import instance

SEEDS = {"small": (1, 2, 3), "medium": (1, 2, 3), "large": (1, 2, 3), "hard": (1,), "huge": (1,)}
BY_DEFAULT = ("small", "medium", "large")
BY_LEVELS = ("small", "medium")
TIME_LIMIT_S = {"small": 60, "medium": 60, "large": 60, "hard": 1200, "huge": 3000}
# Where a search in whole cannot end, one stops this near to the bound.
NEAR_ENOUGH = {"large": 1e-4, "hard": 1e-4, "huge": 4e-4}
POINTS_A_SIT = 1000
# The linear bound itself lies up to 4 % above the best plan where a problem is small.
GAP_GOALS = {
    "small": "at most 4",
    "medium": "at most 0.2",
    "large": "at most 0.02",
    "hard": "at most 0.3",
    "huge": "at most 0.05",
}
PEAK_GOALS = {"small": "at most 250", "medium": "at most 250", "huge": "at most 1000"}

Row = tuple[str, float, str, str]


def rows(only: str = "") -> Iterator[Row]:
    """(name, value, unit, goal) of every figure of the sizes that ``only`` leaves."""
    for size in SEEDS:
        own = f"rotation_{size}"
        if only.startswith(own) or (size in BY_DEFAULT and own.startswith(only)):
            yield from _rows_of(size)


def _rows_of(size: str) -> Iterator[Row]:
    problems = [instance(size, seed=seed) for seed in SEEDS[size]]
    began_cpu = time.process_time()
    plans = [
        solve_blended(
            problem,
            time_limit_s=TIME_LIMIT_S[size],
            relative_gap=NEAR_ENOUGH.get(size, 0.0),
        )
        for problem in problems
    ]
    cpu_s = (time.process_time() - began_cpu) / len(plans)
    # Before the plans by hand, which take room of their own.
    peak_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield f"rotation_{size}_peak_mib", peak_mib, "MiB", PEAK_GOALS.get(size, "")
    yield f"rotation_{size}_cpu_s", cpu_s, "s of processor time for each problem", ""
    yield from _blended_rows(size, problems, plans)
    if size in BY_LEVELS:
        yield from _level_rows(size, problems)


def _blended_rows(
    size: str, problems: list[RotationProblem], plans: list[BlendedPlan]
) -> Iterator[Row]:
    bound = float(sum(plan.bound for plan in plans))
    score = sum(plan.score for plan in plans)
    greedy = sum(
        max(blended_score(problem, baseline(problem)) for baseline in BASELINES.values())
        for problem in problems
    )
    requests = sum(member.sits_requested for p in problems for member in p.members)
    faults = sum(len(audit(p, plan.seats)) for p, plan in zip(problems, plans, strict=True))
    ratio = sum(plan.seconds for plan in plans) / sum(plan.linear_seconds for plan in plans)
    yield f"rotation_{size}_gap_pct", 100 * (bound - score) / bound, "%", GAP_GOALS.get(size, "")
    short = (bound - score) / POINTS_A_SIT / requests * 1000
    yield f"rotation_{size}_short_per_1000", short, "sits per 1000 requests", ""
    closed = 100 * (score - greedy) / (bound - greedy)
    yield f"rotation_{size}_greedy_gap_closed_pct", closed, "%", "at least 98"
    yield f"rotation_{size}_lp_time_ratio", ratio, "×", "at most 20"
    yield f"rotation_{size}_violations", faults, "violations", "0"


def _level_rows(size: str, problems: list[RotationProblem]) -> Iterator[Row]:
    results = [solve(problem, time_limit_s=60) for problem in problems]
    proven = sum(level.is_proven for result in results for level in result.levels)
    levels = sum(len(result.levels) for result in results)
    yield f"rotation_{size}_levels_proven_pct", 100 * proven / levels, "%", "100"
    slowest = max(result.seconds for result in results)
    yield f"rotation_{size}_all_levels_s", slowest, "s", "at most 10"
    faults = sum(len(audit(p, r.seats)) for p, r in zip(problems, results, strict=True))
    yield f"rotation_{size}_levels_violations", faults, "violations", "0"
