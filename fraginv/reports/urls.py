"""Addresses of the package ``reports``."""

from django.urls import URLPattern, path

from fraginv.reports.views import losses, month, survival

app_name = "reports"

urlpatterns: list[URLPattern] = [
    path("", month.latest, name="latest"),
    path("losses", losses.losses, name="losses"),
    path("losses.csv", losses.csv, name="losses_csv"),
    path("losses.xlsx", losses.xlsx, name="losses_xlsx"),
    path("losses/survival", survival.survival, name="survival"),
    path("losses/survival.csv", survival.csv, name="survival_csv"),
    path("<str:month>.pdf", month.pdf, name="month_pdf"),
    path("<str:month>.csv", month.csv, name="month_csv"),
    path("<str:month>.xlsx", month.xlsx, name="month_xlsx"),
    path("<str:month>", month.month, name="month"),
]
