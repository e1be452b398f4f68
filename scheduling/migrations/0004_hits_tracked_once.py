from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("scheduling", "0003_guests_in_wishes"),
    ]

    operations = [
        migrations.AddConstraint(
            model_name="tracking",
            constraint=models.UniqueConstraint(
                condition=models.Q(("ended_at__isnull", True)),
                fields=("sit", "hit_at"),
                name="hit_tracked_once_at_a_time",
            ),
        ),
    ]
