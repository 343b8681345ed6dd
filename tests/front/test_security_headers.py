"""Every address answers with the headers that browsers are to go by."""

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from fraginv.base.rules.roles import Role
from tests.browsing import PASSWORD
from tests.conftest import People
from tests.front.rows import one_of_each, url_names

ClientFor = Callable[[Role | None], Client]

# OWASP Secure Headers Project, and ASVS 5.0 section 3.4: what an answer must say.
EXPECTED = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
# A page may tell others less than this, such as nothing at all.
REFERRERS = {"same-origin", "strict-origin", "no-referrer"}
# Content Security Policy Level 3 (W3C), and ASVS 5.0, 3.4.3 and 3.4.6.
POLICY = {
    "default-src": "'none'",
    "script-src": "'self'",
    "style-src": "'self'",
    "connect-src": "'self'",
    "form-action": "'self'",
    "frame-ancestors": "'none'",
    "base-uri": "'none'",
    "object-src": "'none'",
}
# Permissions Policy (W3C), and ASVS 5.0, 3.4: the camera is for the page alone that reads labels.
CAMERA = {"front:scan"}
ASKING = {"stock:grade", "stock:healed", "stock:place", "stock:not_ready"}
ASKING |= {"stock:dip", "stock:remount", "stock:give"}


def policy_of(answer: Any) -> dict[str, str]:
    """Return the directives of an answer's Content Security Policy."""
    parts = [part.strip().partition(" ") for part in answer["Content-Security-Policy"].split(";")]
    return {name: sources for name, _, sources in parts}


def lacking(answer: Any, *, camera: bool = False) -> list[str]:
    """Name what an answer does not say, or says otherwise."""
    wrong = [name for name, value in EXPECTED.items() if answer.get(name) != value]
    wrong += [] if answer.get("Referrer-Policy") in REFERRERS else ["Referrer-Policy"]
    permitted = answer.get("Permissions-Policy", "").split(", ")
    wrong += [] if ("camera=(self)" if camera else "camera=()") in permitted else ["permissions"]
    policy = policy_of(answer)
    wrong += [name for name, value in POLICY.items() if policy.get(name) != value]
    wrong += [name for name, value in policy.items() if "unsafe" in value or "*" in value]
    return wrong


def is_picture(answer: Any) -> bool:
    return bool(answer["Content-Type"].startswith("image/"))


@pytest.mark.parametrize("role", [Role.OWNER, Role.GROWER, None], ids=["owner", "grower", "nobody"])
def test_every_address_of_the_access_table(
    client_for: ClientFor, people: People, role: Role | None
) -> None:
    arguments, client = one_of_each(people, by=people[Role.GROWER]), client_for(role)
    code, wrong, kinds = arguments("front:code")["text"], [], set()
    for page in url_names():
        query = {"codes": code} if page in ASKING else {}
        answer = client.get(reverse(page, kwargs=arguments(page)), query_params=query)
        kinds.add(answer["Content-Type"].split(";")[0])
        faults = lacking(answer, camera=page in CAMERA and role is not None)
        if (
            role is not None
            and not is_picture(answer)
            and "no-store" not in answer["Cache-Control"]
        ):
            faults.append(f"Cache-Control: {answer['Cache-Control']}")
        if faults:
            wrong.append(f"{page}: {', '.join(faults)}")
    assert not wrong, "\n".join(wrong)
    expected = {"text/html", "image/jpeg"}
    assert kinds >= expected | ({"application/pdf", "text/csv"} if role is Role.OWNER else set())


@pytest.mark.parametrize(
    ("path", "method", "status"),
    [
        ("/nowhere", "GET", 404),
        ("/labels/", "DELETE", 403),
        ("/T/7K3Q9FM", "GET", 400),
        ("/sign-in", "POST", 403),
    ],
)
def test_pages_that_refuse(people: People, path: str, method: str, status: int) -> None:
    for known in (True, False):
        client = Client(enforce_csrf_checks=True)
        if known:
            client.force_login(people[Role.READER])
        answer = client.generic(method, path)
        assert (answer.status_code, lacking(answer)) == (status, [])
        assert ("no-store" in answer["Cache-Control"]) == known


def test_a_slip_of_ours(client_for: ClientFor, monkeypatch: pytest.MonkeyPatch) -> None:
    def slip(*args: object) -> None:
        raise RuntimeError("the secret of the house")

    monkeypatch.setattr("fraginv.front.middleware.need_of", slip)
    client = client_for(Role.OWNER)
    client.raise_request_exception = False
    answer = client.get("/colonies")
    assert (answer.status_code, lacking(answer)) == (500, [])
    assert "no-store" in answer["Cache-Control"]
    text = answer.content.decode()
    for told in ("secret of the house", "RuntimeError", "Traceback", "fraginv/front", "django"):
        assert told not in text, told


def test_another_host_is_refused(people: People) -> None:
    # A name that the settings do not list never comes back in a link or a redirect.
    for headers in ({"host": "reef.evil.test"}, {"host": "testserver@evil.test"}):
        answer = Client().get("/colonies", headers=headers)
        assert (answer.status_code, lacking(answer)) == (400, [])
        assert b"evil.test" not in answer.content
    believed = Client().get("/colonies", headers={"x-forwarded-host": "reef.evil.test"})
    assert believed["Location"].startswith("/sign-in?")


def test_browsers_may_not_guess_what_a_file_is(client_for: ClientFor, people: People) -> None:
    arguments, client = one_of_each(people, by=people[Role.GROWER]), client_for(Role.OWNER)
    for page in url_names():
        if page in ASKING:
            continue
        answer = client.get(reverse(page, kwargs=arguments(page)))
        kind = answer["Content-Type"]
        if kind.startswith("text/"):
            assert "charset=utf-8" in kind.lower(), page
        elif not is_picture(answer) and answer.status_code == 200 and "json" not in kind:
            assert "filename=" in answer["Content-Disposition"], page


def test_methods_that_no_page_has(client_for: ClientFor, people: People) -> None:
    for role in (Role.OWNER, None):
        answer = client_for(role).generic("TRACE", "/")
        assert answer.status_code in {403, 405}
        assert b"sessionid" not in answer.content


def test_cookies_say_what_they_are_for(people: People) -> None:
    client = Client()
    client.get("/sign-in")
    client.post("/sign-in", {"username": Role.GROWER.value, "password": PASSWORD})
    session, token = (
        client.cookies[settings.SESSION_COOKIE_NAME],
        client.cookies[settings.CSRF_COOKIE_NAME],
    )
    assert session["httponly"]
    assert (session["samesite"], token["samesite"]) == ("Lax", "Lax")
    assert not session["domain"]
    assert not token["domain"]
