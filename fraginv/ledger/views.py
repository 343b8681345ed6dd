"""Looking into the ledger; nothing is written by hand here."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fraginv.base.web import after_asked, month_asked
from fraginv.ledger.queries import account_totals, get_entry, journal, trial_balance

ENTRIES_ON_A_PAGE = 50


def show_journal(request: HttpRequest) -> HttpResponse:
    """Show a month: what moved on each account, how all stand at its end, and its entries."""
    steps = month_asked(request)
    totals = account_totals(steps.month)
    page = {
        "steps": steps,
        "page": journal(steps.month, size=ENTRIES_ON_A_PAGE, after=after_asked(request)),
        "totals": totals,
        "debit": sum(total.debit for total in totals),
        "credit": sum(total.credit for total in totals),
        "balance": trial_balance(steps.month),
    }
    return render(request, "ledger/journal_list.html", page)


def show_entry(request: HttpRequest, year: int, number: int) -> HttpResponse:
    """Show one entry with its lines, and what chains it to the entry before."""
    return render(request, "ledger/entry_detail.html", {"entry": get_entry(year, number=number)})
