"""What a metrics collector is told of plans: how far the newest may be from the best."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from coop.telemetry.metrics import register_reading
from properties.land.models import Cooperative
from scheduling.rotation.models import RotationPlan


def register() -> None:
    register_reading(
        "coop_plan_gap_ratio",
        "Share by which the newest plan of a cooperative may fall short of its bound.",
        _gaps,
        labels=("cooperative", "aim"),
    )


def _gaps(now: datetime) -> Iterator[tuple[dict[str, str], float]]:
    for cooperative_id in Cooperative.objects.values_list("id", flat=True):
        newest = (
            RotationPlan.objects.filter(cooperative_id=cooperative_id)
            .order_by("-computed_at", "-id")
            .values_list("result", flat=True)
            .first()
        )
        for aim, gap in gaps_of(newest or {}):
            yield {"cooperative": str(cooperative_id), "aim": aim}, gap


def gaps_of(result: dict[str, Any]) -> Iterator[tuple[str, float]]:
    """The gap of a stored result aim by aim, or of its one blended score."""
    score, bound = result.get("blended_score"), result.get("blended_bound")
    if score is not None and bound is not None:
        yield "blended", (bound - score) / max(1.0, bound)
        return
    for level in result.get("levels", []):
        yield level["name"], level["gap_pct"] / 100.0
