"""What a studio's own people teach about its tape, which body model applies, and corrections on standardisation days."""

import django.db.models.deletion
from django.db import migrations, models

import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from studio.platform.database.functions import make_function

# What a dry run remarked is advice about some row: nobody can tell any more whose, so all of it goes.
ERASE = """
declare
  her_name text;
begin
  select name into her_name from studio_client where id = who;
  delete from studio_enrolment where client_id = who;
  update studio_readingimport set problems = '[]', version = version + 1, changed_at = now()
  where strpos(lower(problems::text), lower(coalesce(her_name, ''))) > 0 and coalesce(her_name, '') <> '';
  update studio_readingimport set remarks = '[]' where remarks <> '[]';
end
"""


def make_eraser(apps, schema_editor):
    make_function(schema_editor, "eraser", "studio_erase_places(who uuid)", "void", ERASE, language="plpgsql")


class Migration(migrations.Migration):
    dependencies = [
        ("platform", "0003_keep_months"),
        ("studio", "0004_erase_enrolments"),
    ]

    operations = [
        migrations.CreateModel(
            name="TapingHabit",
            fields=[
                (
                    "id",
                    models.UUIDField(
                        default=studio.platform.models.base.new_id,
                        editable=False,
                        primary_key=True,
                        serialize=False,
                    ),
                ),
                ("shifts", models.JSONField(blank=True, default=dict)),
                ("people", models.JSONField(blank=True, default=dict)),
                ("learnt_until", models.UUIDField(blank=True, null=True)),
                ("learnt_at", models.DateTimeField()),
                (
                    "studio",
                    models.ForeignKey(
                        default=studio.platform.database.scope.current_studio_id,
                        editable=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.studio",
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="tapinghabit_studio_id"),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id",
                        door_reads=False,
                        name="tapinghabit_of_studio",
                        owned_by_door=False,
                    ),
                    models.UniqueConstraint(fields=("studio",), name="tapinghabit_once"),
                ],
            },
        ),
        migrations.AddField(
            model_name="client",
            name="body_model",
            field=models.CharField(
                choices=[
                    ("both", "Women's and men's figures, where both agree"),
                    ("female", "Women's figures"),
                    ("male", "Men's figures"),
                    ("none", "Own earlier figures alone"),
                ],
                db_default="both",
                default="both",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="measuring",
            name="measurer_known",
            field=models.BooleanField(db_default=True, default=True),
        ),
        migrations.AddField(
            model_name="measuring",
            name="measurer_told",
            field=models.CharField(blank=True, db_default="", default="", max_length=120),
        ),
        migrations.AddField(
            model_name="readingimport",
            name="remarks",
            field=models.JSONField(blank=True, db_default=[], default=list),
        ),
        migrations.AddField(
            model_name="standardisationreading",
            name="supersedes",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="studio.standardisationreading",
            ),
        ),
        migrations.AddField(
            model_name="standardisationreading",
            name="reason",
            field=models.CharField(blank=True, db_default="", default="", max_length=200),
        ),
        migrations.RemoveConstraint(model_name="standardisationreading", name="standardreading_once"),
        migrations.AddConstraint(
            model_name="standardisationreading",
            constraint=studio.platform.database.constraints.StudioReference(
                field="supersedes", name="standardreading_supersedes_same_studio"
            ),
        ),
        migrations.AddConstraint(
            model_name="standardisationreading",
            constraint=models.UniqueConstraint(
                condition=models.Q(("supersedes", None)),
                fields=("studio", "day", "person", "member", "measure", "take"),
                name="standardreading_take_once",
            ),
        ),
        migrations.AddConstraint(
            model_name="standardisationreading",
            constraint=models.UniqueConstraint(
                fields=("studio", "supersedes"), name="standardreading_superseded_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="standardisationreading",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("supersedes", None), models.Q(("reason", ""), _negated=True), _connector="OR"
                ),
                name="standardreading_correction_has_reason",
            ),
        ),
        migrations.RunPython(make_eraser, migrations.RunPython.noop),
    ]
