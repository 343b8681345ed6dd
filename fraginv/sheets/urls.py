"""Addresses of the package ``sheets``."""

from django.urls import URLPattern, path

from fraginv.sheets import views

app_name = "sheets"

urlpatterns: list[URLPattern] = [
    path("", views.sheet, name="sheet"),
    path("sheet.pdf", views.pdf, name="pdf"),
]
