"""Addresses of the package ``front``."""

from django.urls import URLPattern

app_name = "front"

urlpatterns: list[URLPattern] = []
