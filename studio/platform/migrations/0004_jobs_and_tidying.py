from django.db import migrations, models

from studio.platform.database.functions import platform_doors


class Migration(migrations.Migration):
    dependencies = [("platform", "0003_keep_months")]

    operations = [
        migrations.AddField("job", "attempts_allowed", models.PositiveSmallIntegerField(default=4)),
        migrations.RunPython(platform_doors, migrations.RunPython.noop),
    ]
