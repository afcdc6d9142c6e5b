"""What can be put off, as the task runner finds it."""

from __future__ import annotations

from django_tasks import task

from shop.paper import running


@task()
def print_job(job_id: int) -> None:
    """Print a job, unless another does or did."""
    running.run(job_id)
