"""Addresses of the package ``trade``."""

from django.urls import URLPattern

app_name = "trade"

urlpatterns: list[URLPattern] = []
