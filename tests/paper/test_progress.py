"""The prints of the last week, as a browser looks at them."""

from __future__ import annotations

import uuid
from datetime import timedelta
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from shop.floor.models import Print
from shop.paper import jobs
from shop.paper.models import Job
from shop.people.idle import SEEN
from shop.people.models import Badge
from tests.paper.phones import print_now, signed_in

pytestmark = pytest.mark.usefixtures("morning", "db", "folder")


@pytest.fixture
def folder(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def clerk() -> Client:
    return signed_in("P-41")


def page_of(answer: Any) -> str:
    """The page without the breaks between its words."""
    return " ".join(answer.content.decode().split())


def job(state: str, names: int = 40, **more: Any) -> Job:
    """A job as it stands at some moment of its way."""
    at = timezone.now()
    said = {"sheet": "single", "edge": "long", "badge": "P-41", "asked_at": at, "beat_at": at}
    serials = ["Q-1043", *(f"Q-{2000 + number}" for number in range(names - 1))]
    badge = Badge.objects.get(code="P-41")
    made = {"key": uuid.uuid4(), "form": "traveller", "names": serials, "asked_by": badge}
    return Job.objects.create(state=state, **{**made, **said, **more})


def look_again(client: Client, number: int) -> Any:
    return client.get(f"/paper/jobs/{number}/", headers={"HX-Request": "true"})


def test_a_print_under_way_tells_how_far_it_is_and_looks_again_by_itself(clerk: Client) -> None:
    number = job("drawing", drawn=10).pk
    page = page_of(clerk.get(f"/paper/jobs/{number}/"))
    assert "Traveller Q-1043 and 39 more" in page
    assert "10 of 40 drawn." in page
    assert '<progress class="print-far" max="100" value="22"' in page  # of nine tenths for drawing
    assert f'hx-get="/paper/jobs/{number}/" hx-trigger="load delay:2s' in page
    assert ">Look again</a>" in page  # where no script runs
    assert ">Stop it</button>" in page
    part = page_of(look_again(clerk, number))
    assert "10 of 40 drawn." in part
    assert "<h1>" not in part


@pytest.mark.parametrize("state", ["done", "stopped"])
def test_a_page_that_looked_again_is_shown_anew_once_there_is_nothing_to_wait_for(
    clerk: Client, state: str
) -> None:
    answer = look_again(clerk, job(state).pk)
    assert answer["HX-Refresh"] == "true"
    assert b"hx-trigger" not in clerk.get(f"/paper/jobs/{job(state).pk}/").content


def test_a_page_that_looks_again_by_itself_does_not_keep_a_phone_awake(clerk: Client) -> None:
    """A person's own look does; see ``shop/people/idle.py``."""
    number = job("drawing").pk
    session = clerk.session
    long_ago = int(timezone.now().timestamp()) - 100
    session[SEEN] = long_ago
    session.save()
    clerk.cookies["sessionid"] = session.session_key or ""
    look_again(clerk, number)
    assert clerk.session[SEEN] == long_ago
    clerk.get(f"/paper/jobs/{number}/")
    assert clerk.session[SEEN] > long_ago


def test_stop_stops_a_print_before_anything_of_it_is_recorded(clerk: Client) -> None:
    number = job("waiting").pk
    answer = clerk.post(f"/paper/jobs/{number}/stop/")
    assert answer["Location"] == f"/paper/jobs/{number}/"
    page = page_of(clerk.get(answer["Location"]))
    assert "Nothing of it was printed or recorded." in page
    assert ">Go on</button>" in page
    assert ">Stop it</button>" not in page
    assert not Print.objects.exists()


def test_a_print_that_is_being_recorded_cannot_be_stopped_any_more(clerk: Client) -> None:
    page = page_of(clerk.get(f"/paper/jobs/{job('recording', drawn=4).pk}/"))
    assert "4 of 40 written into the history." in page
    assert ">Stop it</button>" not in page


def test_go_on_goes_on_with_a_print_that_stopped(clerk: Client) -> None:
    number = job("stopped", names=1).pk
    answer = clerk.post(f"/paper/jobs/{number}/go-on/")
    assert answer["Location"] == f"/paper/jobs/{number}/"
    page = page_of(clerk.get(answer["Location"]))
    assert "1 of 1 printed" in page
    assert Print.objects.get().of == "Q-1043"


def test_a_print_that_gives_no_sign_any_more_offers_to_go_on(clerk: Client) -> None:
    silent = timezone.now() - jobs.SILENT - timedelta(seconds=1)
    page = page_of(clerk.get(f"/paper/jobs/{job('drawing', beat_at=silent).pk}/"))
    assert "It stopped before anything was printed" in page
    assert ">Go on</button>" in page


def test_a_finished_print_says_until_when_it_is_kept(clerk: Client) -> None:
    print_now(clerk, "traveller", "Q-1043")
    made = Job.objects.get()
    assert made.done_at is not None
    until = timezone.localtime(made.done_at + timedelta(days=7))
    page = page_of(clerk.get(f"/paper/jobs/{made.pk}/"))
    assert f"It is kept until {until:%a %Y-%m-%d %H:%M}." in page
    assert "1 of 1 printed" in page


def test_what_was_not_printed_is_named_with_its_reason_and_not_in_the_file(clerk: Client) -> None:
    print_now(clerk, "neck_tag", "Q-1050", "Q-1058")
    made = Job.objects.get()
    page = page_of(clerk.get(f"/paper/jobs/{made.pk}/"))
    assert "1 of 2 printed" in page
    assert "<span>Q-1050</span>" in page
    pdf = clerk.get(f"/paper/jobs/{made.pk}/print.pdf")
    assert pdf["Content-Disposition"] == 'inline; filename="neck-tag-Q-1058.pdf"'


def test_a_print_of_which_nothing_came_has_no_file(clerk: Client) -> None:
    print_now(clerk, "as_built", "Q-1043", "Q-1055")
    made = Job.objects.get()
    page = page_of(clerk.get(f"/paper/jobs/{made.pk}/"))
    assert "0 of 2 printed." in page
    assert "2 not printed" in page
    assert "Open the PDF" not in page
    assert clerk.get(f"/paper/jobs/{made.pk}/print.pdf").status_code == HTTPStatus.NOT_FOUND


def test_the_list_tells_the_prints_of_a_week_the_newest_first(clerk: Client) -> None:
    old = job("done", asked_at=timezone.now() - timedelta(days=8))
    drawn = job("drawing", drawn=3)
    print_now(clerk, "body_tag", "Q-1055")
    newest = Job.objects.latest("id")
    page = page_of(clerk.get("/paper/jobs/"))
    assert f'href="/paper/jobs/{old.pk}/"' not in page
    assert page.index(f'href="/paper/jobs/{newest.pk}/"') < page.index(f"/jobs/{drawn.pk}/")
    for told in ("Body tag Q-1055", "1 of 1 printed", "3 of 40 drawn.", "P-41"):
        assert told in page


def test_a_form_the_shop_has_no_more_is_told_by_its_key(clerk: Client) -> None:
    job("done", form="menu")
    assert "menu Q-1043 and 39 more" in page_of(clerk.get("/paper/jobs/"))


def test_an_empty_week_says_so(clerk: Client) -> None:
    assert "Nothing printed yet." in page_of(clerk.get("/paper/jobs/"))


def test_more_prints_take_no_more_statements(clerk: Client) -> None:
    def statements() -> int:
        clerk.get("/paper/jobs/")
        with CaptureQueriesContext(connection) as asked:
            clerk.get("/paper/jobs/")
        return len(asked)

    for state in ("done", "drawing", "stopped"):
        job(state)
    before = statements()
    for state in ("done", "drawing", "stopped"):
        job(state)
    assert statements() == before


@pytest.mark.parametrize("more", ["", "print.pdf"])
def test_a_print_that_is_not_there_is_not_found(clerk: Client, more: str) -> None:
    assert clerk.get(f"/paper/jobs/999/{more}").status_code == HTTPStatus.NOT_FOUND


def test_a_print_is_shown_to_those_who_may_print(clerk: Client) -> None:
    print_now(clerk, "traveller", "Q-1043")
    number = Job.objects.get().pk
    for address in (f"/paper/jobs/{number}/", f"/paper/jobs/{number}/print.pdf", "/paper/jobs/"):
        assert signed_in("P-01").get(address).status_code == HTTPStatus.OK
        assert signed_in("P-11").get(address).status_code == HTTPStatus.FORBIDDEN
        assert Client().get(address).status_code == HTTPStatus.UNAUTHORIZED
