"""Addresses of the package ``growth``."""

from django.urls import URLPattern

app_name = "growth"

urlpatterns: list[URLPattern] = []
