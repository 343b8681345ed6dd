"""Addresses of the package ``costs``."""

from django.urls import path

from fraginv.costs import views

app_name = "costs"

urlpatterns = [
    path("", views.bills, name="bills"),
    path("add", views.bill_add, name="bill_add"),
    path("<int:bill_id>", views.bill, name="bill"),
    path("<int:bill_id>/pay", views.bill_pay, name="bill_pay"),
]
