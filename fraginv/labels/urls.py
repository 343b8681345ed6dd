"""Addresses of the package ``labels``."""

from django.urls import URLPattern

app_name = "labels"

urlpatterns: list[URLPattern] = []
