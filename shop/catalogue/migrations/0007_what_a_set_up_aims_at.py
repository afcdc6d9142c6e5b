"""What a set-up aims at, where a spec names it, and of what its three woods are."""

from decimal import Decimal

import django.core.validators
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [('catalogue', '0006_rework_loops')]

    operations = [
        migrations.AddField(
            model_name='specrevision',
            name='back_wood',
            field=models.CharField(blank=True, help_text='Botanical name.', max_length=60),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='board_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Fingerboard at the body joint, without frets. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='board_wood',
            field=models.CharField(blank=True, help_text='Of the fingerboard: botanical name.', max_length=60),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='bridge_height_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Bridge over the top. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='compensation_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Middle of the saddle beyond the scale. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal(0))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='fall_off_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='How far the last fret falls below the body joint. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal(0))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='fret_height_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Of new frets over the board. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='frets',
            field=models.PositiveSmallIntegerField(blank=True, help_text='How many. Empty: what is usual for its kind.', null=True, validators=[django.core.validators.MinValueValidator(12)]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='relief_least_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Least relief. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal(0))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='relief_most_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Most relief. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal('0.001'))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='slant_mm',
            field=models.DecimalField(blank=True, decimal_places=3, help_text='Bass end of the saddle further than its treble end. Empty: what is usual for its kind.', max_digits=7, null=True, validators=[django.core.validators.MinValueValidator(Decimal(0))]),
        ),
        migrations.AddField(
            model_name='specrevision',
            name='top_wood',
            field=models.CharField(blank=True, help_text='Botanical name.', max_length=60),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('relief_most_mm__gt', 0), ('relief_most_mm__isnull', True), _connector='OR'), name='revision_relief_most_mm_positive'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('frets__gt', 0), ('frets__isnull', True), _connector='OR'), name='revision_frets_positive'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('fret_height_mm__gt', 0), ('fret_height_mm__isnull', True), _connector='OR'), name='revision_fret_height_mm_positive'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('bridge_height_mm__gt', 0), ('bridge_height_mm__isnull', True), _connector='OR'), name='revision_bridge_height_mm_positive'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('board_mm__gt', 0), ('board_mm__isnull', True), _connector='OR'), name='revision_board_mm_positive'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('relief_least_mm__gte', 0), ('relief_least_mm__isnull', True), _connector='OR'), name='revision_relief_least_mm_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('fall_off_mm__gte', 0), ('fall_off_mm__isnull', True), _connector='OR'), name='revision_fall_off_mm_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('compensation_mm__gte', 0), ('compensation_mm__isnull', True), _connector='OR'), name='revision_compensation_mm_not_negative'),
        ),
        migrations.AddConstraint(
            model_name='specrevision',
            constraint=models.CheckConstraint(condition=models.Q(('slant_mm__gte', 0), ('slant_mm__isnull', True), _connector='OR'), name='revision_slant_mm_not_negative'),
        ),
    ]
