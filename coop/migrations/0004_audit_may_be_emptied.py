from django.db import migrations, models

from coop.audit.guards import FIRST_INSTALL, INSTALL, REMOVE


def install(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in (*REMOVE[vendor], *INSTALL[vendor]):
        schema_editor.execute(statement)


def go_back(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    for statement in (*REMOVE[vendor], *FIRST_INSTALL[vendor]):
        schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [
        ("coop", "0003_season_on_leased_land"),
    ]

    operations = [
        migrations.AddField(
            model_name="auditevent",
            name="emptied_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.RunPython(install, go_back),
    ]
