from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0004_hits_tracked_once"),
    ]

    operations = [
        migrations.AddConstraint(
            model_name="rotationplan",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("published_at__isnull", False),
                        ("state__in", ["published", "superseded"]),
                    ),
                    models.Q(
                        ("published_at__isnull", True),
                        ("state__in", ["draft", "stale"]),
                    ),
                    _connector="OR",
                ),
                name="plan_is_published_at_an_instant",
            ),
        ),
    ]
