"""Addresses of the package ``people``: the door at the root, the crew below ``people/``."""

from django.urls import include, path
from django.urls.resolvers import URLPattern

from fraginv.people.views import signing

app_name = "people"

crew_patterns: list[URLPattern] = []

urlpatterns = [
    path("sign-in", signing.sign_in, name="sign_in"),
    path("sign-out", signing.sign_out, name="sign_out"),
    path("people/", include(crew_patterns)),
]
