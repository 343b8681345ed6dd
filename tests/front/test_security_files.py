"""Files are handed out by pages that look who asks, and in no other way."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import boto3
import pytest
from django.conf import settings as present
from django.core.exceptions import SuspiciousFileOperation
from django.core.files.storage import FileSystemStorage
from django.test import Client
from django.urls import get_resolver, reverse
from moto.server import ThreadedMotoServer
from pytest_django import Settings

from fraginv.base.queries.files import storage_for
from fraginv.base.rules.codes import address_path
from fraginv.base.rules.environment import Bucket
from fraginv.base.rules.roles import Role
from fraginv.growth.actions.photos import file_photo
from fraginv.settings import kept_in
from fraginv.stock.actions.aside import set_apart
from tests.base.test_pictures import make_picture
from tests.conftest import People
from tests.factories import make_lot
from tests.front.rows import one_of_each
from tests.house.tree import HOUSE, TEMPLATES

ClientFor = Callable[[Role | None], Client]
PAPERS = ("trade:receipt", "reports:month_pdf", "reports:month_csv", "reports:month_xlsx")


@pytest.fixture
def endpoint(monkeypatch: pytest.MonkeyPatch, settings: Settings) -> Iterator[str]:
    """Keep files in a bucket of a store that answers over HTTP."""
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "key")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "secret")
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    address = "http://{}:{}".format(*server.get_host_and_port())
    client = boto3.client("s3", endpoint_url=address, region_name="reef-1")
    client.create_bucket(
        Bucket="secret-bucket", CreateBucketConfiguration={"LocationConstraint": "reef-1"}
    )
    client.close()
    kept = {
        name: kept_in(folder, bucket=Bucket("secret-bucket", address, "reef-1"))
        for name, folder in (("default", "media"), ("private", "private"))
    }
    settings.STORAGES = {**settings.STORAGES, **kept}
    yield address
    server.stop()


def test_files_of_a_store_come_through_our_own_page(
    endpoint: str, client_for: ClientFor, people: People
) -> None:
    lot = make_lot(people[Role.GROWER], 5)
    photo = file_photo(lot, data=make_picture(), by=people[Role.GROWER])
    path = f"/photos/{photo.pk}-{photo.mark}/240.jpg"
    for role in (Role.GROWER, None):
        client = client_for(role)
        picture = client.get(path)
        assert (picture.status_code, picture["Content-Type"]) == (200, "image/jpeg")
        assert picture.getvalue()[:2] == b"\xff\xd8"
        page = client.get(address_path(lot.code_id)).content.decode()
        assert path.rpartition("/")[0] in page
        for told in (endpoint, "secret-bucket", "X-Amz", "AWSAccessKeyId"):
            assert told not in page
            assert told not in str(picture.headers)
    set_apart([lot.pk], by=people[Role.GROWER])
    assert client_for(None).get(path).status_code == 404
    assert client_for(Role.GROWER).get(path).status_code == 200


def test_papers_are_for_those_who_may_see_them(client_for: ClientFor, people: People) -> None:
    arguments = one_of_each(people, by=people[Role.SELLER])
    for page in PAPERS:
        path = reverse(page, kwargs=arguments(page))
        assert client_for(Role.OWNER).get(path).status_code == 200
        assert client_for(Role.GROWER).get(path).status_code == 403
        assert client_for(None).get(path)["Location"].startswith("/sign-in")


def test_no_address_leads_to_a_folder_of_files() -> None:
    addresses = str(get_resolver().url_patterns)
    for word in ("media", "private", "django.views.static", "staticfiles"):
        assert word not in addresses
    assert not present.MEDIA_URL.strip("/")
    for private in (True, False):
        storage = storage_for(private=private)
        assert isinstance(storage, FileSystemStorage)
        assert not Path(storage.location).is_relative_to(present.STATIC_ROOT)


def test_no_page_asks_a_storage_for_an_address() -> None:
    found = [
        f"{file.name}: {line.strip()}"
        for folder, kinds in ((HOUSE, "*.py"), (TEMPLATES, "*.html"))
        for file in folder.rglob(kinds)
        for line in file.read_text(encoding="utf-8").splitlines()
        if re.search(r"(storage|storages\[[^]]+\]|file|picture)\.url\b", line)
    ]
    assert not found


@pytest.mark.parametrize("name", ["../signing.key", "/etc/passwd", "a/../../signing.key"])
@pytest.mark.parametrize("private", [True, False])
def test_names_that_lead_out_of_the_folder_are_refused(name: str, private: bool) -> None:
    storage = storage_for(private=private)
    with pytest.raises(SuspiciousFileOperation):
        storage.open(name)
    with pytest.raises(SuspiciousFileOperation):
        storage.exists(name)
