"""Addresses of the package ``upkeep``."""

from django.urls.resolvers import URLPattern

app_name = "upkeep"

urlpatterns: list[URLPattern] = []
