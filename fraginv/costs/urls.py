"""Addresses of the package ``costs``."""

from django.urls import URLPattern

app_name = "costs"

urlpatterns: list[URLPattern] = []
