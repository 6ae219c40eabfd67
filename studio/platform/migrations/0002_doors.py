from django.db import migrations

from studio.platform.database.functions import platform_doors


class Migration(migrations.Migration):
    dependencies = [("platform", "0001_initial")]

    operations = [migrations.RunPython(platform_doors, migrations.RunPython.noop)]
