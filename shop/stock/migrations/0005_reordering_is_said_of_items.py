from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("stock", "0004_what_the_counts_were_after_each_movement")]
    operations = [
        migrations.RemoveField(model_name="lot", name="least"),
        *(
            migrations.AlterField("movement", name, models.PositiveIntegerField())
            for name in ("on_hand_after", "reserved_after", "out_after")
        ),
    ]
