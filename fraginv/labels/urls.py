"""Addresses of the package ``labels``."""

from django.urls import URLPattern, path

from fraginv.labels.views import card, keeping, printers, printing, stocks

app_name = "labels"

urlpatterns: list[URLPattern] = [
    path("", printing.print_labels, name="print"),
    path("blank", printing.print_blank, name="blank"),
    path("runs", printing.runs, name="runs"),
    path("runs/<int:run_id>", printing.run_page, name="run_page"),
    path("runs/<int:run_id>.pdf", printing.run, name="run"),
    path("lost", keeping.lost, name="lost"),
    path("lost/found", keeping.lost_found, name="lost_found"),
    path("rolls", keeping.rolls, name="rolls"),
    path("rolls/<int:roll_number>", keeping.roll, name="roll"),
    path("card", card.card, name="card"),
    path("card.pdf", card.card_sheet, name="card_sheet"),
    path("stocks", stocks.stocks, name="stocks"),
    path("stocks/add", stocks.stock_add, name="stock_add"),
    path("stocks/<str:stock_name>", stocks.stock, name="stock"),
    path("stocks/<str:stock_name>/adjust", stocks.stock_adjust, name="stock_adjust"),
    path("stocks/<str:stock_name>/withdraw", stocks.stock_withdraw, name="stock_withdraw"),
    path("printers/add", printers.printer_add, name="printer_add"),
    path("printers/<int:printer_id>", printers.printer, name="printer"),
    path("printers/<int:printer_id>/check.pdf", printers.printer_check, name="printer_check"),
    path("printers/<int:printer_id>/withdraw", printers.printer_withdraw, name="printer_withdraw"),
]
