"""Addresses of the package ``ledger``."""

from django.urls import path

from fraginv.ledger import views

app_name = "ledger"

urlpatterns = [
    path("", views.show_journal, name="journal"),
    path("<int:year>/<int:number>", views.show_entry, name="entry"),
]
