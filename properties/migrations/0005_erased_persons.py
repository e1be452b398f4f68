from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("properties", "0004_lease_and_evidence_guards"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name="person",
            name="erased_at",
            field=models.DateTimeField(blank=True, editable=False, null=True),
        ),
        migrations.AddConstraint(
            model_name="person",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("erased_at", None),
                    models.Q(
                        ("email", ""),
                        ("emergency_contact_name", ""),
                        ("emergency_contact_phone", ""),
                        ("phone", ""),
                        ("retired_at__isnull", False),
                        ("user", None),
                        ("vehicle", ""),
                    ),
                    _connector="OR",
                ),
                name="erased_person_keeps_no_data",
            ),
        ),
    ]
