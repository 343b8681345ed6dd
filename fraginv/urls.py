"""Every package's addresses."""

from django.urls import include, path

handler400 = "fraginv.base.views.bad_request"
handler500 = "fraginv.upkeep.views.house.broken"

urlpatterns = [
    path("", include("fraginv.front.urls")),
    path("", include("fraginv.people.urls")),
    path("", include("fraginv.upkeep.urls")),
    path("stock/", include("fraginv.stock.urls")),
    path("photos/", include("fraginv.growth.urls")),
    path("labels/", include("fraginv.labels.urls")),
    path("ledger/", include("fraginv.ledger.urls")),
    path("trade/", include("fraginv.trade.urls")),
    path("costs/", include("fraginv.costs.urls")),
    path("sheets/", include("fraginv.sheets.urls")),
    path("reports/", include("fraginv.reports.urls")),
]
