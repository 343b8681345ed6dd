"""Addresses of the package ``people``."""

from django.urls.resolvers import URLPattern

app_name = "people"

urlpatterns: list[URLPattern] = []
