from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import migrations, models


def apart(hits: list[tuple[UUID, datetime]]) -> list[datetime]:
    """The instants of ``hits`` (sit, instant), those said twice of a sit a microsecond later."""
    seen: set[tuple[UUID, datetime]] = set()
    instants = []
    for sit_id, hit_at in hits:
        while (sit_id, hit_at) in seen:
            hit_at += timedelta(microseconds=1)
        seen.add((sit_id, hit_at))
        instants.append(hit_at)
    return instants


def part_hits_tracked_twice(apps: Any, schema_editor: Any) -> None:
    """Let a hit that was opened twice stay open twice, for somebody may be on foot for either.

    From now on a hit is opened once.
    """
    open_ones = list(
        apps.get_model("scheduling", "Tracking")
        .objects.filter(ended_at=None)
        .order_by("hit_at", "opened_at", "id")
    )
    instants = apart([(tracking.sit_id, tracking.hit_at) for tracking in open_ones])
    for tracking, hit_at in zip(open_ones, instants, strict=True):
        if hit_at != tracking.hit_at:
            tracking.hit_at = hit_at
            tracking.save(update_fields=["hit_at"])


class Migration(migrations.Migration):
    dependencies = [
        ("properties", "0004_lease_and_evidence_guards"),
        ("scheduling", "0002_season_on_leased_land"),
    ]

    operations = [
        migrations.AddField(
            model_name="plannedseat",
            name="guests",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="sitrequest",
            name="guests",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.RunPython(part_hits_tracked_twice, migrations.RunPython.noop),
    ]
