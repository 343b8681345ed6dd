"""Django finds a package's tables here; this file only imports them."""

from fraginv.trade.models.credits import Credit, CreditLine
from fraginv.trade.models.customers import Customer, CustomerKind, PaperName
from fraginv.trade.models.payments import Payment, Taking
from fraginv.trade.models.prices import Price, TaxRate
from fraginv.trade.models.sales import Balance, Sale, SaleLine

__all__ = [
    "Balance",
    "Credit",
    "CreditLine",
    "Customer",
    "CustomerKind",
    "PaperName",
    "Payment",
    "Price",
    "Sale",
    "SaleLine",
    "Taking",
    "TaxRate",
]
