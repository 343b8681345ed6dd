"""Addresses of the package ``labels``."""

from django.urls import URLPattern, path

from fraginv.labels import views

app_name = "labels"

urlpatterns: list[URLPattern] = [
    path("", views.print_labels, name="print"),
    path("blank", views.print_blank, name="blank"),
    path("runs/<int:run_id>.pdf", views.run, name="run"),
]
