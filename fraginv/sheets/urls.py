"""Addresses of the package ``sheets``."""

from django.urls import URLPattern

app_name = "sheets"

urlpatterns: list[URLPattern] = []
