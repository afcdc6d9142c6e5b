"""The office has no page of the press's own bookkeeping: a print is followed on its page."""

from django.contrib import admin
from django_tasks_db.models import DBTaskResult

admin.site.unregister(DBTaskResult)
