"""Keeping files in an S3-compatible store, over real HTTP."""

import logging
from collections.abc import Iterator

import boto3
import pytest
from botocore.config import Config
from moto.server import ThreadedMotoServer
from pytest_django import Settings

from fraginv.base.actions.files import store_picture
from fraginv.base.errors import NotFound, StoreAway
from fraginv.base.models import Organisation
from fraginv.base.queries.files import (
    damaged_names,
    missing_names,
    read_original,
    read_rendition,
    rendition_source,
    storage_for,
)
from fraginv.base.rules.environment import Bucket
from fraginv.base.rules.trouble import Troubles
from fraginv.base.transactions import one_transaction
from fraginv.base.views import trouble_of
from fraginv.settings import kept_in
from tests.base.test_pictures import make_picture
from tests.serving import free_port

BUCKET = "reef-files"
FOLDERS = {"default": "media", "private": "private"}


@pytest.fixture(scope="module")
def endpoint() -> Iterator[str]:
    """A store that answers on the loopback address."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    yield f"http://{host}:{port}"
    server.stop()


@pytest.fixture(autouse=True)
def bucket(
    endpoint: str, monkeypatch: pytest.MonkeyPatch, settings: Settings, organisation: Organisation
) -> "boto3.client":
    """Let files be kept in a bucket of the store, as FRAGINV_MEDIA would."""
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "key")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "secret")
    client = boto3.client("s3", endpoint_url=endpoint, region_name="reef-1")
    place = {"CreateBucketConfiguration": {"LocationConstraint": "reef-1"}}
    client.create_bucket(Bucket=BUCKET, **place)
    kept = {
        alias: kept_in(folder, bucket=Bucket(BUCKET, endpoint, "reef-1"))
        for alias, folder in FOLDERS.items()
    }
    settings.STORAGES = {**settings.STORAGES, **kept}
    yield client
    for name in names_in(client):
        client.delete_object(Bucket=BUCKET, Key=name)
    client.delete_bucket(Bucket=BUCKET)
    client.close()


def names_in(client: "boto3.client") -> list[str]:
    found = client.list_objects_v2(Bucket=BUCKET).get("Contents", [])
    return sorted(row["Key"] for row in found)


def test_a_picture_is_kept_in_the_bucket_and_reads_back(bucket: "boto3.client") -> None:
    data = make_picture(size=(700, 350))
    file = store_picture(data)
    assert len(names_in(bucket)) == 5
    assert all(name.startswith("media/") for name in names_in(bucket))
    assert read_rendition(file, size=240)[:2] == b"\xff\xd8"
    assert rendition_source(file, size=240) == read_rendition(file, size=240)
    assert (list(missing_names(file)), list(damaged_names(file))) == ([], [])
    assert store_picture(data) == file
    assert len(names_in(bucket)) == 5


def test_private_files_lie_apart(bucket: "boto3.client") -> None:
    store_picture(make_picture(), private=True)
    assert {name.split("/")[0] for name in names_in(bucket)} == {"private"}


def test_a_lost_file_is_named_and_sending_it_again_mends_it(bucket: "boto3.client") -> None:
    data = make_picture()
    file = store_picture(data)
    lost = next(name for name in names_in(bucket) if "original" in name)
    bucket.delete_object(Bucket=BUCKET, Key=lost)
    assert [f"media/{name}" for name in missing_names(file)] == [lost]
    with pytest.raises(NotFound, match="missing in the storage"):
        read_original(file)
    store_picture(data)
    assert lost in names_in(bucket)


def test_an_action_that_fails_leaves_nothing_in_the_bucket(bucket: "boto3.client") -> None:
    @one_transaction
    def fail() -> None:
        store_picture(make_picture())
        raise ValueError("after the picture")

    with pytest.raises(ValueError, match="after the picture"):
        fail()
    assert names_in(bucket) == []


def test_no_address_of_the_store_is_good_without_the_key(bucket: "boto3.client") -> None:
    store_picture(make_picture())
    listed = bucket.get_object_acl(Bucket=BUCKET, Key=names_in(bucket)[0])
    grantees = [grant["Grantee"].get("URI", "") for grant in listed["Grants"]]
    assert not [uri for uri in grantees if "AllUsers" in uri]
    assert storage_for(private=False).exists(names_in(bucket)[0].removeprefix("media/"))


def test_a_store_that_is_away_is_told_as_a_disk_is(settings: Settings) -> None:
    file = store_picture(make_picture())
    away = kept_in("media", bucket=Bucket(BUCKET, f"http://127.0.0.1:{free_port()}", "reef-1"))
    away["OPTIONS"]["client_config"] = Config(retries={"total_max_attempts": 1})
    settings.STORAGES = {**settings.STORAGES, "default": away}
    storage = storage_for(private=False)
    for ask in (storage.exists, storage.size, storage.delete, storage.listdir, storage.open):
        with pytest.raises(StoreAway, match="does not do what is asked"):
            ask("x")
    with pytest.raises(StoreAway):
        read_original(file)
    assert trouble_of(StoreAway("x")) == Troubles.STORE.value
