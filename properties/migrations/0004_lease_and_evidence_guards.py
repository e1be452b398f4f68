from django.db import migrations

from properties.incidents import guards as evidence
from properties.leases import guards as leases
from properties.regulations import guards as regulations

GUARDS = (leases, regulations, evidence)


def install(apps, schema_editor):
    for guard in GUARDS:
        for statement in guard.INSTALL[schema_editor.connection.vendor]:
            schema_editor.execute(statement)


def remove(apps, schema_editor):
    for guard in GUARDS:
        for statement in guard.REMOVE[schema_editor.connection.vendor]:
            schema_editor.execute(statement)


class Migration(migrations.Migration):
    dependencies = [("properties", "0003_season_on_leased_land")]
    operations = [migrations.RunPython(install, remove)]
