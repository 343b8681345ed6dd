"""Addresses of the package ``trade``."""

from django.urls import path

from fraginv.trade.views import customers, holds, papers, prices, selling

app_name = "trade"

urlpatterns = [
    path("prices", prices.price_list, name="prices"),
    path("prices/set", prices.price_set, name="price_set"),
    path("tax/set", prices.tax_set, name="tax_set"),
    path("customers", customers.customer_list, name="customers"),
    path("customers/add", customers.customer_add, name="customer_add"),
    path("customers/<int:customer_id>", customers.customer_page, name="customer"),
    path(
        "customers/<int:customer_id>/certificate", customers.certificate_set, name="certificate_set"
    ),
    path("hold/<str:code>", holds.hold, name="hold"),
    path("let-go/<int:claim_id>", holds.let_hold_go, name="let_go"),
    path("sell", selling.sell, name="sell"),
    path("sales", papers.sales, name="sales"),
    path("sales/<int:sale_id>", papers.sale, name="sale"),
    path("sales/<int:sale_id>/receipt.pdf", papers.receipt, name="receipt"),
    path("sales/<int:sale_id>/pay", papers.pay, name="pay"),
    path("sales/<int:sale_id>/credit", papers.credit, name="credit"),
]
