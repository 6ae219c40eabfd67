import django.db.models.deletion
import studio.platform.database.constraints
import studio.platform.database.scope
import studio.platform.models.base
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('platform', '0001_initial'),
        ('seamlab', '0001_initial'),
        ('studio', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='FitPlan',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('number', models.PositiveSmallIntegerField(default=1)),
                ('inputs', models.JSONField()),
                ('result', models.JSONField()),
                ('state', models.CharField(choices=[('draft', 'Draft'), ('approved', 'Approved for the paper'), ('replaced', 'Replaced by a later plan')], default='draft', max_length=12)),
                ('approved_at', models.DateTimeField(blank=True, null=True)),
                ('approved_by', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('planned_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('supersedes', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.fitplan')),
            ],
            options={
                'verbose_name': 'fit plan',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='fitplan_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='fitplan_client_same_studio'), studio.platform.database.constraints.StudioReference(field='supersedes', name='fitplan_supersedes_same_studio'), studio.platform.database.constraints.StudioReference(field='planned_by', name='fitplan_planned_by_same_studio'), studio.platform.database.constraints.StudioReference(field='approved_by', name='fitplan_approved_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='fitplan_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='Garment',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('kind', models.CharField(choices=[('skirt', 'Skirt'), ('trousers', 'Trousers'), ('bodice', 'Bodice'), ('dress', 'Dress'), ('shirt', 'Shirt'), ('jacket', 'Jacket'), ('tshirt', 'T-shirt')], max_length=16)),
                ('words', models.CharField(max_length=160)),
                ('for_child', models.BooleanField(default=False)),
                ('due', models.DateField(blank=True, null=True)),
                ('state', models.CharField(choices=[('open', 'In work'), ('handed_over', 'Handed over'), ('given_up', 'Given up')], default='open', max_length=16)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='garments', to='studio.client')),
                ('cloth', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.cloth')),
                ('plan', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.fitplan')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'client', '-created_at'], name='garment_of_client'), models.Index(fields=['studio', 'state', 'due'], name='garment_by_due')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='garment_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='garment_client_same_studio'), studio.platform.database.constraints.StudioReference(field='cloth', name='garment_cloth_same_studio'), studio.platform.database.constraints.StudioReference(field='plan', name='garment_plan_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='garment_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='FittingSession',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('paper', 'Paper'), ('toile', 'Toile'), ('baste', 'Basted'), ('final', 'Final')], max_length=8)),
                ('held_at', models.DateTimeField()),
                ('worn', models.CharField(blank=True, max_length=160)),
                ('posture', models.CharField(blank=True, max_length=80)),
                ('recorded_at', models.DateTimeField(auto_now_add=True)),
                ('fitted_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sessions', to='fitting.garment')),
            ],
            options={
                'verbose_name': 'fitting session',
                'indexes': [models.Index(fields=['studio', 'garment', '-held_at'], name='session_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='session_studio_id'), studio.platform.database.constraints.StudioReference(field='garment', name='session_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='fitted_by', name='session_fitted_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='session_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='session_is_kept')],
            },
        ),
        migrations.CreateModel(
            name='FitReport',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('number', models.PositiveSmallIntegerField()),
                ('snapshot', models.JSONField()),
                ('asked_at', models.DateTimeField(auto_now_add=True)),
                ('asked_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('corrects', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.fitreport')),
                ('job', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.job')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='reports', to='fitting.garment')),
            ],
            options={
                'verbose_name': 'fit report',
                'indexes': [models.Index(fields=['studio', 'client', '-asked_at'], name='fitreport_of_client')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='fitreport_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='fitreport_client_same_studio'), studio.platform.database.constraints.StudioReference(field='garment', name='fitreport_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='corrects', name='fitreport_corrects_same_studio'), studio.platform.database.constraints.StudioReference(field='asked_by', name='fitreport_asked_by_same_studio'), studio.platform.database.constraints.StudioReference(field='job', name='fitreport_job_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='fitreport_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='fitreport_is_kept'), models.UniqueConstraint(fields=('studio', 'garment', 'number'), name='fitreport_number_once')],
            },
        ),
        migrations.AddField(
            model_name='fitplan',
            name='garment',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.garment'),
        ),
        migrations.CreateModel(
            name='CheckpointAnswer',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('checkpoint', models.CharField(max_length=32)),
                ('answer', models.CharField(choices=[('done', 'Done'), ('passed_by', 'Gone past, with a reason'), ('reopened', 'Open again')], max_length=12)),
                ('reason', models.CharField(blank=True, max_length=400)),
                ('missing', models.JSONField(blank=True, default=list)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('answered_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='answers', to='fitting.garment')),
            ],
            options={
                'indexes': [models.Index(fields=['studio', 'garment', 'checkpoint', '-at'], name='checkpoint_newest')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='checkpoint_studio_id'), studio.platform.database.constraints.StudioReference(field='garment', name='checkpoint_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='answered_by', name='checkpoint_answered_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='checkpoint_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='checkpoint_is_kept'), models.CheckConstraint(condition=models.Q(models.Q(('answer', 'passed_by'), _negated=True), models.Q(('reason', ''), _negated=True), _connector='OR'), name='passing_by_has_reason')],
            },
        ),
        migrations.CreateModel(
            name='AcceptedEase',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('kind', models.CharField(choices=[('skirt', 'Skirt'), ('trousers', 'Trousers'), ('bodice', 'Bodice'), ('dress', 'Dress'), ('shirt', 'Shirt'), ('jacket', 'Jacket'), ('tshirt', 'T-shirt')], max_length=16)),
                ('zone', models.CharField(max_length=32)),
                ('ease_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('rule_low_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('rule_high_mm', models.DecimalField(decimal_places=4, max_digits=10)),
                ('rule_source', models.CharField(max_length=200)),
                ('at', models.DateTimeField(auto_now_add=True)),
                ('client', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='studio.client')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('session', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.fittingsession')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.garment')),
            ],
            options={
                'verbose_name': 'accepted ease',
                'indexes': [models.Index(fields=['studio', 'client', 'kind', 'zone'], name='acceptedease_of_client')],
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='acceptedease_studio_id'), studio.platform.database.constraints.StudioReference(field='client', name='acceptedease_client_same_studio'), studio.platform.database.constraints.StudioReference(field='garment', name='acceptedease_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='session', name='acceptedease_session_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='acceptedease_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='acceptedease_is_kept'), models.UniqueConstraint(fields=('studio', 'session', 'zone'), name='acceptedease_once')],
            },
        ),
        migrations.CreateModel(
            name='GarmentSeam',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('place', models.CharField(max_length=80)),
                ('chosen_at', models.DateTimeField(auto_now_add=True)),
                ('chosen_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('garment', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='seams', to='fitting.garment')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('version', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='seamlab.seamrecipeversion')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='garmentseam_studio_id'), studio.platform.database.constraints.StudioReference(field='garment', name='garmentseam_garment_same_studio'), studio.platform.database.constraints.StudioReference(field='version', name='garmentseam_version_same_studio'), studio.platform.database.constraints.StudioReference(field='chosen_by', name='garmentseam_chosen_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='garmentseam_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'garment', 'place'), name='garmentseam_place_once')],
            },
        ),
        migrations.CreateModel(
            name='IssuedReport',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('sha256', models.CharField(max_length=64)),
                ('pages', models.PositiveSmallIntegerField()),
                ('rendered_with', models.JSONField()),
                ('issued_at', models.DateTimeField(auto_now_add=True)),
                ('file', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.storedfile')),
                ('report', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='issues', to='fitting.fitreport')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'issued report',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='issuedreport_studio_id'), studio.platform.database.constraints.StudioReference(field='report', name='issuedreport_report_same_studio'), studio.platform.database.constraints.StudioReference(field='file', name='issuedreport_file_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='issuedreport_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='issuedreport_is_kept'), models.UniqueConstraint(fields=('studio', 'report'), name='issuedreport_once')],
            },
        ),
        migrations.CreateModel(
            name='Pattern',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('version', models.PositiveIntegerField(default=1, editable=False)),
                ('created_at', models.DateTimeField(auto_now_add=True)),
                ('changed_at', models.DateTimeField(auto_now=True)),
                ('name', models.CharField(max_length=120)),
                ('kind', models.CharField(choices=[('skirt', 'Skirt'), ('trousers', 'Trousers'), ('bodice', 'Bodice'), ('dress', 'Dress'), ('shirt', 'Shirt'), ('jacket', 'Jacket'), ('tshirt', 'T-shirt')], max_length=16)),
                ('closeness', models.CharField(choices=[('close', 'Close'), ('fitted', 'Fitted'), ('semi_fitted', 'Semi-fitted'), ('loose', 'Loose')], max_length=16)),
                ('structure', models.CharField(choices=[('woven', 'Woven'), ('knit', 'Knit')], default='woven', max_length=8)),
                ('stretch_wanted_percent', models.DecimalField(blank=True, decimal_places=2, max_digits=6, null=True)),
                ('basis', models.CharField(choices=[('finished', 'Finished garment measures'), ('chart', 'Body chart that it was drafted for')], default='finished', max_length=12)),
                ('base_height_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('base_cup_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('seam_allowance_mm', models.DecimalField(decimal_places=4, default=15, max_digits=10)),
                ('notes', models.TextField(blank=True, max_length=2000)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='pattern_studio_id'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='pattern_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'name'), name='pattern_name_once')],
            },
        ),
        migrations.AddField(
            model_name='garment',
            name='pattern',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.pattern'),
        ),
        migrations.AddField(
            model_name='fitplan',
            name='pattern',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='plans', to='fitting.pattern'),
        ),
        migrations.CreateModel(
            name='PatternSize',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('name', models.CharField(max_length=16)),
                ('place', models.PositiveSmallIntegerField()),
                ('pattern', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sizes', to='fitting.pattern')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='patternsize_studio_id'), studio.platform.database.constraints.StudioReference(field='pattern', name='patternsize_pattern_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='patternsize_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'pattern', 'name'), name='patternsize_name_once'), models.UniqueConstraint(fields=('studio', 'pattern', 'place'), name='patternsize_place_once')],
            },
        ),
        migrations.CreateModel(
            name='PatternMeasure',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('measure', models.CharField(max_length=64)),
                ('value', models.DecimalField(decimal_places=4, max_digits=10)),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('size', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='measures', to='fitting.patternsize')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='patternmeasure_studio_id'), studio.platform.database.constraints.StudioReference(field='size', name='patternmeasure_size_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='patternmeasure_of_studio', owned_by_door=False), models.UniqueConstraint(fields=('studio', 'size', 'measure'), name='patternmeasure_once'), models.CheckConstraint(condition=models.Q(('value__gt', 0)), name='patternmeasure_is_positive')],
            },
        ),
        migrations.CreateModel(
            name='ReportLink',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('made_at', models.DateTimeField(auto_now_add=True)),
                ('expires_at', models.DateTimeField()),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
                ('openings', models.PositiveIntegerField(default=0)),
                ('last_opened_at', models.DateTimeField(blank=True, null=True)),
                ('made_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('report', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='links', to='fitting.fitreport')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'report link',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='reportlink_studio_id'), studio.platform.database.constraints.StudioReference(field='report', name='reportlink_report_same_studio'), studio.platform.database.constraints.StudioReference(field='made_by', name='reportlink_made_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='reportlink_of_studio', owned_by_door=False)],
            },
        ),
        migrations.CreateModel(
            name='SignOff',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('signed_at', models.DateTimeField(auto_now_add=True)),
                ('client_agreed', models.BooleanField(default=False)),
                ('note', models.CharField(blank=True, max_length=400)),
                ('session', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='sign_offs', to='fitting.fittingsession')),
                ('signed_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
            ],
            options={
                'verbose_name': 'sign-off',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='signoff_studio_id'), studio.platform.database.constraints.StudioReference(field='session', name='signoff_session_same_studio'), studio.platform.database.constraints.StudioReference(field='signed_by', name='signoff_signed_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='signoff_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='signoff_is_kept'), models.UniqueConstraint(fields=('studio', 'session'), name='signoff_once')],
            },
        ),
        migrations.CreateModel(
            name='FitNote',
            fields=[
                ('id', models.UUIDField(default=studio.platform.models.base.new_id, editable=False, primary_key=True, serialize=False)),
                ('place', models.CharField(max_length=32)),
                ('side', models.CharField(choices=[('left', 'left'), ('right', 'right'), ('both', 'both')], default='both', max_length=8)),
                ('seen', models.CharField(max_length=400)),
                ('decision', models.CharField(choices=[('leave', 'Leave as it is'), ('take_in', 'Take in'), ('let_out', 'Let out'), ('lengthen', 'Lengthen'), ('shorten', 'Shorten'), ('reshape', 'Reshape the seam'), ('open', 'Not decided yet')], max_length=12)),
                ('amount_mm', models.DecimalField(blank=True, decimal_places=4, max_digits=10, null=True)),
                ('decided', models.CharField(blank=True, max_length=400)),
                ('noted_at', models.DateTimeField(auto_now_add=True)),
                ('noted_by', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.member')),
                ('studio', models.ForeignKey(default=studio.platform.database.scope.current_studio_id, editable=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='platform.studio')),
                ('supersedes', models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', to='fitting.fitnote')),
                ('session', models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='notes', to='fitting.fittingsession')),
            ],
            options={
                'verbose_name': 'fit note',
                'constraints': [models.UniqueConstraint(fields=('studio', 'id'), name='fitnote_studio_id'), studio.platform.database.constraints.StudioReference(field='session', name='fitnote_session_same_studio'), studio.platform.database.constraints.StudioReference(field='supersedes', name='fitnote_supersedes_same_studio'), studio.platform.database.constraints.StudioReference(field='noted_by', name='fitnote_noted_by_same_studio'), studio.platform.database.constraints.StudioPolicy(column='studio_id', door_reads=False, name='fitnote_of_studio', owned_by_door=False), studio.platform.database.constraints.AppendOnly(name='fitnote_is_kept'), models.UniqueConstraint(fields=('studio', 'supersedes'), name='fitnote_superseded_once')],
            },
        ),
        migrations.AddConstraint(
            model_name='garment',
            constraint=studio.platform.database.constraints.StudioReference(field='pattern', name='garment_pattern_same_studio'),
        ),
        migrations.AddConstraint(
            model_name='fitplan',
            constraint=studio.platform.database.constraints.StudioReference(field='pattern', name='fitplan_pattern_same_studio'),
        ),
        migrations.AddConstraint(
            model_name='fitplan',
            constraint=studio.platform.database.constraints.StudioReference(field='garment', name='fitplan_garment_same_studio'),
        ),
        migrations.AddConstraint(
            model_name='fitplan',
            constraint=models.UniqueConstraint(fields=('studio', 'client', 'pattern', 'number'), name='fitplan_number_once'),
        ),
    ]
