"""Addresses of the package ``reports``."""

from django.urls import URLPattern, path

from fraginv.reports import views

app_name = "reports"

urlpatterns: list[URLPattern] = [
    path("", views.latest, name="latest"),
    path("<str:month>.pdf", views.pdf, name="month_pdf"),
    path("<str:month>.csv", views.csv, name="month_csv"),
    path("<str:month>.xlsx", views.xlsx, name="month_xlsx"),
    path("<str:month>", views.month, name="month"),
]
