import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('platform', '0002_doors'),
    ]

    operations = [
        migrations.CreateModel(
            name='Cloth',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('structure', models.CharField(choices=[('woven', 'Woven'), ('knit', 'Knit')], max_length=8)),
                ('construction', models.CharField(blank=True, max_length=60)),
                ('fibres', models.JSONField(blank=True, default=list)),
                ('weight_gsm', models.DecimalField(decimal_places=2, max_digits=7)),
                ('thickness_mm', models.DecimalField(blank=True, decimal_places=3, max_digits=6, null=True)),
                ('width_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('usable_width_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('direction', models.CharField(choices=[('nap', 'Nap or pile: one way'), ('one_way_print', 'One-way print'), ('sheen', 'Sheen that shades: one way'), ('two_way', 'Plain, tested two-way'), ('not_known', 'Not known: treated as one-way')], default='not_known', max_length=16)),
                ('repeat_lengthwise_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('repeat_crosswise_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('drape', models.CharField(blank=True, max_length=120)),
                ('care', models.CharField(blank=True, max_length=200)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='cloth_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='cloth_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='cloth_name_once'), models.CheckConstraint(condition=models.Q(('usable_width_mm__lte', models.F('width_mm'))), name='cloth_usable_within_width')],
            },
        ),
        migrations.CreateModel(
            name='ClothTest',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('stretch', 'Stretch and recovery'), ('wash', 'Wash')], max_length=12)),
                ('way', models.CharField(choices=[('lengthwise', 'lengthwise'), ('crosswise', 'crosswise')], max_length=12)),
                ('before_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('after_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('released_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('percent', models.DecimalField(decimal_places=2, max_digits=7)),
                ('recovery_percent', models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                ('tested_at', models.DateTimeField()),
                ('note', models.CharField(blank=True, max_length=400)),
                ('cloth', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='tests', to='seamlab.cloth')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('tested_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'verbose_name': 'cloth test',
                'indexes': [models.Index(fields=['studio', 'cloth', 'kind', 'way', '-tested_at'], name='clothtest_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='clothtest_studio_id'), studio.platform.database.constraints.StudioReference(field='cloth', name='clothtest_cloth_same_studio'), studio.platform.database.constraints.StudioReference(field='tested_by', name='clothtest_tested_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='clothtest_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='clothtest_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='Machine',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('stitch_types', models.JSONField(default=list)),
                ('largest_width_mm', models.DecimalField(decimal_places=2, default=0, max_digits=5)),
                ('stitches_per_minute', models.PositiveIntegerField(default=800)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='machine_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='machine_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='machine_name_once')],
            },
        ),
        migrations.CreateModel(
            name='Needle',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('metric', models.PositiveSmallIntegerField()),
                ('point', models.CharField(choices=[('round', 'Round'), ('sharp', 'Fine sharp'), ('light_ball', 'Light ball'), ('medium_ball', 'Medium ball'), ('heavy_ball', 'Heavy ball'), ('cutting', 'Cutting (leather)')], max_length=16)),
                ('what_for', models.CharField(blank=True, max_length=160)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='needle_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='needle_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'metric', 'point'), name='needle_once')],
            },
        ),
        migrations.CreateModel(
            name='SeamRecipe',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('purpose', models.CharField(choices=[('join', 'Join'), ('topstitch', 'Topstitch'), ('hem', 'Hem'), ('edge', 'Finish an edge'), ('elastic', 'Attach elastic'), ('buttonhole', 'Buttonhole'), ('baste', 'Baste')], max_length=16)),
                ('seam_class', models.CharField(max_length=8)),
                ('layers_low', models.PositiveSmallIntegerField(default=2)),
                ('layers_high', models.PositiveSmallIntegerField(default=2)),
                ('structure', models.CharField(choices=[('woven', 'Woven'), ('knit', 'Knit')], max_length=8)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'seam recipe',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='recipe_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='recipe_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='recipe_name_once'), models.CheckConstraint(condition=models.Q(('layers_low__gte', 1), ('layers_high__gte', models.F('layers_low'))), name='recipe_layers_ordered')],
            },
        ),
        migrations.CreateModel(
            name='SeamRecipeVersion',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('stitch_type', models.CharField(max_length=8)),
                ('stitch_length_mm', models.DecimalField(decimal_places=2, max_digits=5)),
                ('stitch_width_mm', models.DecimalField(decimal_places=2, default=0, max_digits=5)),
                ('passes', models.PositiveSmallIntegerField(default=1)),
                ('needle_thread_ends', models.PositiveSmallIntegerField(default=1)),
                ('tension', models.CharField(blank=True, max_length=80)),
                ('foot', models.CharField(blank=True, max_length=80)),
                ('pressure', models.CharField(blank=True, max_length=80)),
                ('differential_feed', models.CharField(blank=True, max_length=80)),
                ('stabiliser', models.CharField(blank=True, max_length=120)),
                ('pressing', models.CharField(blank=True, max_length=200)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('written_at', models.DateTimeField(auto_now_add=True)),
                ('needle', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.needle')),
                ('recipe', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='versions', to='seamlab.seamrecipe')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('written_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
            ],
            options={
                'verbose_name': 'version of a seam recipe',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='recipeversion_studio_id'), studio.platform.database.constraints.StudioReference(field='recipe', name='recipeversion_recipe_same_studio'), studio.platform.database.constraints.StudioReference(field='needle', name='recipeversion_needle_same_studio'), studio.platform.database.constraints.StudioReference(field='written_by', name='recipeversion_written_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='recipeversion_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='recipeversion_is_kept'), models.UniqueConstraint(fields=('studio', 'recipe', 'number'), name='recipeversion_number_once')],
            },
        ),
        migrations.CreateModel(
            name='SeamTrial',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('layers', models.PositiveSmallIntegerField(default=2)),
                ('direction', models.CharField(choices=[('lengthwise', 'lengthwise'), ('crosswise', 'crosswise'), ('bias', 'bias')], default='lengthwise', max_length=12)),
                ('length_before_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('length_after_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('stretched_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('pull_end', models.CharField(blank=True, choices=[('held', 'The seam held; it could have gone on'), ('stopped', 'The seam would go no further'), ('broke', 'A thread broke')], max_length=8)),
                ('smoothness', models.DecimalField(blank=True, decimal_places=1, max_digits=2, null=True)),
                ('balance', models.CharField(blank=True, choices=[('even', 'Threads meet inside the cloth'), ('top_tight', 'Under thread shows on top'), ('under_tight', 'Needle thread shows underneath')], max_length=12)),
                ('skipped_stitches', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('needle_damage', models.CharField(blank=True, choices=[('none', 'No damage'), ('marks', 'Marks that may close'), ('cut', 'Cut yarns')], max_length=8)),
                ('strength_n_per_cm', models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                ('stretch_wanted_percent', models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ('strength_wanted_n_per_cm', models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                ('smoothness_wanted', models.DecimalField(blank=True, decimal_places=1, max_digits=2, null=True)),
                ('proposed', models.CharField(choices=[('passes', 'Passes'), ('fails', 'Fails'), ('look_again', 'Needs another look')], max_length=12)),
                ('reasons', models.JSONField(default=list)),
                ('verdict', models.CharField(choices=[('passes', 'Passes'), ('fails', 'Fails'), ('look_again', 'Needs another look')], max_length=12)),
                ('verdict_reason', models.CharField(blank=True, max_length=400)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('sewn_at', models.DateTimeField()),
                ('cloth', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='trials', to='seamlab.cloth')),
                ('machine', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.machine')),
                ('sewn_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('version', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='trials', to='seamlab.seamrecipeversion')),
            ],
            options={
                'verbose_name': 'seam trial',
                'indexes': [models.Index(fields=['studio', 'version', '-sewn_at'], name='trial_of_version'), models.Index(fields=['studio', 'cloth', '-sewn_at'], name='trial_on_cloth')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='trial_studio_id'), studio.platform.database.constraints.StudioReference(field='version', name='trial_version_same_studio'), studio.platform.database.constraints.StudioReference(field='cloth', name='trial_cloth_same_studio'), studio.platform.database.constraints.StudioReference(field='machine', name='trial_machine_same_studio'), studio.platform.database.constraints.StudioReference(field='sewn_by', name='trial_sewn_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='trial_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='trial_is_kept'), models.CheckConstraint(condition=models.Q(('smoothness__gte', 1), ('smoothness__lte', 5)), name='trial_smoothness_1_to_5'), models.CheckConstraint(condition=models.Q(('stretched_mm', None), models.Q(('pull_end', ''), _negated=True), _connector='OR'), name='trial_pull_has_an_end')],
            },
        ),
        migrations.CreateModel(
            name='Thread',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('fibre', models.CharField(max_length=60)),
                ('construction', models.CharField(blank=True, max_length=60)),
                ('tex', models.DecimalField(decimal_places=2, max_digits=7)),
                ('extension_percent', models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ('strength_n', models.DecimalField(blank=True, decimal_places=2, max_digits=7, null=True)),
                ('colours', models.JSONField(blank=True, default=list)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='thread_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='thread_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='thread_name_once')],
            },
        ),
        migrations.AddField(
            model_name='seamrecipeversion',
            name='needle_thread',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.thread'),
        ),
        migrations.AddField(
            model_name='seamrecipeversion',
            name='under_thread',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.thread'),
        ),
        migrations.AddConstraint(
            model_name='seamrecipeversion',
            constraint=studio.platform.database.constraints.StudioReference(field='needle_thread', name='recipeversion_needle_thread_same_studio'),
        ),
        migrations.AddConstraint(
            model_name='seamrecipeversion',
            constraint=studio.platform.database.constraints.StudioReference(field='under_thread', name='recipeversion_under_thread_same_studio'),
        ),
    ]
