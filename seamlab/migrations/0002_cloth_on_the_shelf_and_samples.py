import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models

from studio.platform.database.migrating import unforced


def tell_reels(apps, schema_editor):
    """Colours were bare words; they become {"colour": word, "reels": None}: not counted."""
    with unforced(schema_editor, "seamlab_thread"):
        schema_editor.execute(
            """
            update seamlab_thread set colours = (
              select coalesce(jsonb_agg(
                case when jsonb_typeof(c) = 'string' then jsonb_build_object('colour', c, 'reels', null) else c end
              ), '[]'::jsonb)
              from jsonb_array_elements(colours) c
            )
            where jsonb_typeof(colours) = 'array'
            """,
            None,
        )


class Migration(migrations.Migration):
    dependencies = [
        ("platform", "0004_jobs_and_tidying"),
        ("seamlab", "0001_initial"),
    ]

    operations = [
        migrations.RunPython(tell_reels, migrations.RunPython.noop, elidable=True),
        migrations.RemoveConstraint(
            model_name="needle",
            name="needle_once",
        ),
        migrations.AddField(
            model_name="cloth",
            name="colour",
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name="cloth",
            name="is_hidden",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="cloth",
            name="kind",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="machine",
            name="feeds",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="machine",
            name="feet",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="machine",
            name="is_hidden",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="needle",
            name="blades",
            field=models.PositiveSmallIntegerField(default=1),
        ),
        migrations.AddField(
            model_name="needle",
            name="gauge_mm",
            field=models.DecimalField(decimal_places=2, default=0, max_digits=4),
        ),
        migrations.AddField(
            model_name="needle",
            name="is_hidden",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="seamrecipe",
            name="is_hidden",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="seamrecipe",
            name="library_key",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="seamrecipe",
            name="origin",
            field=models.CharField(
                choices=[("own", "This studio's own"), ("library", "From the starting library")],
                default="own",
                max_length=8,
            ),
        ),
        migrations.AddField(
            model_name="seamrecipe",
            name="source",
            field=models.CharField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name="seamrecipe",
            name="written_for",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="seamrecipeversion",
            name="allowance_mm",
            field=models.DecimalField(blank=True, decimal_places=2, max_digits=5, null=True),
        ),
        migrations.AddField(
            model_name="seamrecipeversion",
            name="basis",
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name="seamrecipeversion",
            name="cautions",
            field=models.CharField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name="seamrecipeversion",
            name="preparation",
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name="seamtrial",
            name="checklist",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="seamtrial",
            name="needle_thread_mm",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name="seamtrial",
            name="sewing_seconds",
            field=models.DecimalField(blank=True, decimal_places=1, max_digits=7, null=True),
        ),
        migrations.AddField(
            model_name="seamtrial",
            name="under_thread_mm",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name="seamtrial",
            name="unpicked_length_mm",
            field=models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True),
        ),
        migrations.AddField(
            model_name="thread",
            name="is_hidden",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="thread",
            name="notes",
            field=models.TextField(blank=True, max_length=2000),
        ),
        migrations.AddField(
            model_name="thread",
            name="reel_length_m",
            field=models.DecimalField(blank=True, decimal_places=2, max_digits=8, null=True),
        ),
        migrations.AlterField(
            model_name="seamrecipe",
            name="purpose",
            field=models.CharField(
                choices=[
                    ("join", "Join"),
                    ("topstitch", "Topstitch"),
                    ("hem", "Hem"),
                    ("edge", "Finish an edge"),
                    ("elastic", "Attach elastic"),
                    ("buttonhole", "Buttonhole"),
                    ("baste", "Baste"),
                    ("staystitch", "Staystitch an edge"),
                    ("understitch", "Understitch a facing"),
                    ("gather", "Gather"),
                    ("bind", "Bind an edge"),
                    ("zip", "Set in a zip"),
                    ("mend", "Mend or reinforce"),
                ],
                max_length=16,
            ),
        ),
        migrations.AddConstraint(
            model_name="needle",
            constraint=models.UniqueConstraint(
                fields=("studio", "metric", "point", "blades", "gauge_mm"), name="needle_once"
            ),
        ),
        migrations.AddConstraint(
            model_name="seamrecipe",
            constraint=models.UniqueConstraint(
                condition=models.Q(("library_key", ""), _negated=True),
                fields=("studio", "library_key"),
                name="recipe_library_once",
            ),
        ),
        migrations.CreateModel(
            name="Bolt",
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
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("changed_at", models.DateTimeField(auto_now=True)),
                (
                    "cloth",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="bolts",
                        to="seamlab.cloth",
                    ),
                ),
                ("label", models.CharField(max_length=60)),
                ("dye_lot", models.CharField(blank=True, max_length=60)),
                ("colour", models.CharField(blank=True, max_length=60)),
                ("length_at_start_mm", models.DecimalField(decimal_places=4, max_digits=10)),
                ("place", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=400)),
                ("is_hidden", models.BooleanField(default=False)),
            ],
            options={
                "indexes": [models.Index(fields=["studio", "cloth"], name="bolt_of_cloth")],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="bolt_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="cloth", name="bolt_cloth_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="bolt_of_studio", owned_by_door=False
                    ),
                    models.UniqueConstraint(fields=("studio", "label"), name="bolt_label_once"),
                    models.CheckConstraint(
                        condition=models.Q(("length_at_start_mm__gt", 0)), name="bolt_has_length"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="BoltRecord",
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
                (
                    "bolt",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="records",
                        to="seamlab.bolt",
                    ),
                ),
                ("number", models.PositiveIntegerField()),
                (
                    "kind",
                    models.CharField(
                        choices=[("cut", "Cut off"), ("counted", "Counted again")], max_length=8
                    ),
                ),
                ("length_mm", models.DecimalField(decimal_places=4, max_digits=10)),
                ("remaining_mm", models.DecimalField(decimal_places=4, max_digits=10)),
                ("reason", models.CharField(max_length=200)),
                (
                    "recorded_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("recorded_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "record of a bolt",
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="boltrecord_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="bolt", name="boltrecord_bolt_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="recorded_by", name="boltrecord_recorded_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="boltrecord_of_studio", owned_by_door=False
                    ),
                    studio.platform.database.constraints.AppendOnly(name="boltrecord_is_kept"),
                    models.UniqueConstraint(
                        fields=("studio", "bolt", "number"), name="boltrecord_number_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("length_mm__gte", 0), ("remaining_mm__gte", 0)),
                        name="boltrecord_not_negative",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="LabFigure",
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
                (
                    "cloth",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="lab_figures",
                        to="seamlab.cloth",
                    ),
                ),
                (
                    "quantity",
                    models.CharField(
                        choices=[
                            ("bias_extension", "Bias extension under 5 gf/cm (%)"),
                            ("extension_5", "Extension under 5 gf/cm (%)"),
                            ("extension_20", "Extension under 20 gf/cm (%)"),
                            ("extension_100", "Extension under 100 gf/cm (%)"),
                            ("modulus", "Tensile modulus (N/m)"),
                            ("poisson", "Poisson's ratio"),
                            ("bending_face", "Bending length, face up (mm)"),
                            ("bending_back", "Bending length, back up (mm)"),
                            ("grab_strength", "Strength, grab (N)"),
                            ("strip_strength", "Strength, strip of 50 mm (N)"),
                            ("threads", "Threads per cm"),
                            ("yarn_tex", "Tex of the yarn"),
                            ("thickness_2", "Thickness under 2 gf/cm² (mm)"),
                            ("thickness_100", "Thickness under 100 gf/cm² (mm)"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "way",
                    models.CharField(
                        blank=True,
                        choices=[("lengthwise", "lengthwise"), ("crosswise", "crosswise")],
                        max_length=12,
                    ),
                ),
                ("value", models.DecimalField(decimal_places=4, max_digits=12)),
                ("method", models.CharField(blank=True, max_length=160)),
                ("tested_on", models.DateField()),
                (
                    "recorded_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("recorded_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "laboratory figure",
                "indexes": [
                    models.Index(
                        fields=["studio", "cloth", "quantity", "way", "-tested_on"], name="labfigure_newest"
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="labfigure_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="cloth", name="labfigure_cloth_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="recorded_by", name="labfigure_recorded_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="labfigure_of_studio", owned_by_door=False
                    ),
                    studio.platform.database.constraints.AppendOnly(name="labfigure_is_kept"),
                    models.CheckConstraint(
                        condition=models.Q(("value__gte", 0)), name="labfigure_not_negative"
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ClothPhoto",
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
                (
                    "cloth",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="photos",
                        to="seamlab.cloth",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.storedfile",
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        choices=[("face", "Right side"), ("back", "Wrong side"), ("detail", "Detail")],
                        default="face",
                        max_length=8,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
                (
                    "added_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                ("is_hidden", models.BooleanField(default=False)),
            ],
            options={
                "verbose_name": "photograph of a cloth",
                "indexes": [models.Index(fields=["studio", "cloth", "-added_at"], name="clothphoto_newest")],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="clothphoto_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="cloth", name="clothphoto_cloth_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="file", name="clothphoto_file_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="added_by", name="clothphoto_added_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="clothphoto_of_studio", owned_by_door=False
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="MachineService",
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
                (
                    "machine",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="services",
                        to="seamlab.machine",
                    ),
                ),
                ("serviced_on", models.DateField()),
                ("done_by", models.CharField(blank=True, max_length=120)),
                ("note", models.CharField(blank=True, max_length=400)),
                (
                    "recorded_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("recorded_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "service of a machine",
                "indexes": [
                    models.Index(fields=["studio", "machine", "-serviced_on"], name="machineservice_newest")
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="machineservice_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="machine", name="machineservice_machine_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="recorded_by", name="machineservice_recorded_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id",
                        door_reads=False,
                        name="machineservice_of_studio",
                        owned_by_door=False,
                    ),
                    studio.platform.database.constraints.AppendOnly(name="machineservice_is_kept"),
                ],
            },
        ),
        migrations.CreateModel(
            name="TrialWithdrawal",
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
                (
                    "trial",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="withdrawals",
                        to="seamlab.seamtrial",
                    ),
                ),
                (
                    "replaced_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="seamlab.seamtrial",
                    ),
                ),
                ("reason", models.CharField(max_length=400)),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("withdrawn_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "withdrawal of a seam trial",
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="withdrawal_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="trial", name="withdrawal_trial_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="replaced_by", name="withdrawal_replaced_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="withdrawn_by", name="withdrawal_withdrawn_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="withdrawal_of_studio", owned_by_door=False
                    ),
                    studio.platform.database.constraints.AppendOnly(name="withdrawal_is_kept"),
                    models.UniqueConstraint(fields=("studio", "trial"), name="withdrawal_once"),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="TrialPhoto",
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
                (
                    "trial",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="photos",
                        to="seamlab.seamtrial",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.storedfile",
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        choices=[("top", "From above"), ("under", "From below"), ("detail", "Detail")],
                        default="top",
                        max_length=8,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
                (
                    "added_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("added_at", models.DateTimeField(auto_now_add=True)),
                ("is_hidden", models.BooleanField(default=False)),
            ],
            options={
                "verbose_name": "photograph of a trial",
                "indexes": [models.Index(fields=["studio", "trial", "-added_at"], name="trialphoto_newest")],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="trialphoto_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="trial", name="trialphoto_trial_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="file", name="trialphoto_file_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="added_by", name="trialphoto_added_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="trialphoto_of_studio", owned_by_door=False
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="SeamComparison",
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
                ("version", models.PositiveIntegerField(default=1, editable=False)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("changed_at", models.DateTimeField(auto_now=True)),
                ("question", models.CharField(max_length=200)),
                (
                    "cloth",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="comparisons",
                        to="seamlab.cloth",
                    ),
                ),
                (
                    "recipe",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="comparisons",
                        to="seamlab.seamrecipe",
                    ),
                ),
                (
                    "asked_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("is_hidden", models.BooleanField(default=False)),
            ],
            options={
                "verbose_name": "comparison of samples",
                "indexes": [models.Index(fields=["studio", "-created_at"], name="comparison_newest")],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="comparison_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="cloth", name="comparison_cloth_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="recipe", name="comparison_recipe_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="asked_by", name="comparison_asked_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="comparison_of_studio", owned_by_door=False
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="ComparisonSample",
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
                (
                    "comparison",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="samples",
                        to="seamlab.seamcomparison",
                    ),
                ),
                (
                    "trial",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="comparison_samples",
                        to="seamlab.seamtrial",
                    ),
                ),
                ("place", models.PositiveSmallIntegerField()),
            ],
            options={
                "verbose_name": "sample in a comparison",
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="sample_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="comparison", name="sample_comparison_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="trial", name="sample_trial_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="sample_of_studio", owned_by_door=False
                    ),
                    models.UniqueConstraint(fields=("studio", "comparison", "trial"), name="sample_once"),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ComparisonConclusion",
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
                (
                    "comparison",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="conclusions",
                        to="seamlab.seamcomparison",
                    ),
                ),
                (
                    "taken",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="seamlab.seamtrial",
                    ),
                ),
                ("words", models.CharField(max_length=600)),
                (
                    "concluded_by",
                    models.ForeignKey(
                        db_constraint=False,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="platform.member",
                    ),
                ),
                ("concluded_at", models.DateTimeField(auto_now_add=True)),
            ],
            options={
                "verbose_name": "conclusion of a comparison",
                "indexes": [
                    models.Index(fields=["studio", "comparison", "-concluded_at"], name="conclusion_newest")
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("studio", "id"), name="conclusion_studio_id"),
                    studio.platform.database.constraints.StudioReference(
                        field="comparison", name="conclusion_comparison_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="taken", name="conclusion_taken_same_studio"
                    ),
                    studio.platform.database.constraints.StudioReference(
                        field="concluded_by", name="conclusion_concluded_by_same_studio"
                    ),
                    studio.platform.database.constraints.StudioPolicy(
                        column="studio_id", door_reads=False, name="conclusion_of_studio", owned_by_door=False
                    ),
                    studio.platform.database.constraints.AppendOnly(name="conclusion_is_kept"),
                ],
            },
        ),
    ]
