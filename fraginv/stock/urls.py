"""Addresses of the package ``stock``."""

from django.urls import URLPattern

app_name = "stock"

urlpatterns: list[URLPattern] = []
