"""Printing labels: what is written down, and what is refused without a trace."""

from decimal import Decimal

import pytest

from fraginv.base.actions.codes import bind_codes
from fraginv.base.errors import FraginvError, InputError, NotFound
from fraginv.base.models import Code, Organisation, Person
from fraginv.base.paper import PaperError
from fraginv.base.rules.codes import CodeError, read_code, show_code
from fraginv.labels.actions import printing
from fraginv.labels.actions.printing import print_blank, print_labels, start_run
from fraginv.labels.models import PrintedLabel, PrintRun
from fraginv.labels.queries.runs import run_codes, run_pdf
from tests.base.papers import symbols_of
from tests.factories import make_frags


def read_back(pdf: bytes) -> list[str]:
    """Return the codes in a PDF's symbols, page by page, in no order."""
    return [read_code(one.text) for page in symbols_of(pdf) for one in page]


def test_labels_are_printed_and_written_down(grower: Person) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 12)]

    pdf = print_labels([show_code(code).lower() for code in codes], by=grower, skip=4)

    assert sorted(read_back(pdf)) == sorted(codes)
    run = PrintRun.objects.get()
    assert (run.stock, run.skip, run.count, run.ahead) == ("letter-66.7x25.4", 4, 12, 0)
    assert (run.host, run.by) == ("REEF.TEST", grower)
    assert [code.pk for code in run_codes(run)] == codes
    # 25 modules of 8 dots at 300 dpi, ISO/IEC 18004 version 2.
    assert run.symbol_mm == Decimal("16.93")
    for code in Code.objects.filter(pk__in=codes):
        assert code.printed_at == run.at
        assert code.sizes.get().symbol_mm == run.symbol_mm


def test_a_run_prints_the_same_again(grower: Person, organisation: Organisation) -> None:
    codes = [frag.code_id for frag in make_frags(grower, 2)]
    pdf = print_labels(codes, by=grower)
    organisation.label_host = "NEW.HOST.TEST"
    organisation.save(update_fields=["label_host"])
    assert run_pdf(PrintRun.objects.get()) == pdf


def test_one_code_may_be_printed_twice(grower: Person) -> None:
    code = make_frags(grower, 1)[0].code_id
    assert read_back(print_labels([code, code], by=grower)) == [code, code]


def test_other_codes_stay_as_they_are(grower: Person) -> None:
    printed, other = make_frags(grower, 2)
    print_labels([printed.code_id], by=grower)
    assert Code.objects.get(pk=other.code_id).printed_at is None


def test_the_paper_of_the_organisation_chooses_the_stock(
    grower: Person, organisation: Organisation
) -> None:
    organisation.paper = "a4"
    organisation.save(update_fields=["paper"])
    code = make_frags(grower, 1)[0].code_id
    assert start_run([code], by=grower).stock == "a4-63.5x33.9"
    assert start_run([code], by=grower, stock="letter-66.7x25.4").stock == "letter-66.7x25.4"


def test_blank_labels_are_a_run_that_a_cutting_can_take(grower: Person) -> None:
    pdf = print_blank(31, by=grower, stock="a4-63.5x33.9", skip=3)

    run = PrintRun.objects.get()
    codes = run_codes(run)
    assert sorted(read_back(pdf)) == sorted(code.pk for code in codes)
    assert (run.count, run.ahead) == (31, 31)
    assert {code.kind for code in codes} == {Code.Kind.BLANK}
    assert [code.position for code in codes] == list(range(31))
    assert len({code.run for code in codes}) == 1
    bound = bind_codes(codes[10].pk, count=3, kind=Code.Kind.FRAG)
    assert [code.pk for code in bound] == [code.pk for code in codes[10:13]]


def test_codes_and_blank_ones_share_a_sheet(grower: Person) -> None:
    code = make_frags(grower, 1)[0].code_id
    run = start_run([code], blank=2, by=grower)
    assert (run.count, run.ahead) == (3, 2)
    assert [one.kind for one in run_codes(run)] == ["frag", "blank", "blank"]


@pytest.mark.parametrize(
    ("ask", "error", "message"),
    [
        ({"codes": []}, InputError, "No labels were asked for"),
        ({"codes": [], "blank": 0}, InputError, "0 blank labels at once: ask for 1 to 5,000"),
        ({"codes": [], "blank": -1}, InputError, "-1 blank labels"),
        ({"codes": [], "blank": 10_000}, InputError, "10000 blank labels"),
        ({"codes": ["0000002"] * 5_001}, InputError, "5001 labels at once"),
        ({"codes": ["7K3-Q9F-M"]}, CodeError, "A character in 7K3-Q9F-M is wrong"),
        ({"codes": ["7K3"]}, CodeError, "7 characters"),
        ({"codes": ["7K3-Q9F-N"]}, NotFound, "No such code was made here: 7K3-Q9F-N"),
        ({"blank": 1, "skip": 30}, InputError, "skip 0 to 29"),
        ({"blank": 1, "skip": -1}, InputError, "-1 labels cannot be skipped"),
        ({"blank": 1, "skip": 24, "stock": "a4-63.5x33.9"}, InputError, "skip 0 to 23"),
        ({"blank": 1, "stock": "round"}, InputError, "no label stock “round”"),
    ],
)
def test_bad_input_leaves_no_trace(
    grower: Person, ask: dict[str, object], error: type[FraginvError], message: str
) -> None:
    good = make_frags(grower, 1)[0].code_id
    before = Code.objects.count()
    asked = {"codes": [good]} | ask
    with pytest.raises(error, match=message):
        start_run(by=grower, **asked)  # type: ignore[arg-type]
    assert not PrintRun.objects.exists()
    assert not PrintedLabel.objects.exists()
    assert Code.objects.count() == before
    assert Code.objects.get(pk=good).printed_at is None


def test_a_host_that_is_too_long_makes_no_codes(grower: Person, organisation: Organisation) -> None:
    organisation.label_host = "réef.test"
    organisation.save(update_fields=["label_host"])
    with pytest.raises(InputError, match="is no address for labels"):
        start_run((), blank=30, by=grower)
    assert not Code.objects.exists()


def test_where_papers_cannot_be_made_nothing_is_written(
    grower: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse() -> None:
        raise PaperError("Pango is missing.")

    monkeypatch.setattr(printing, "make_sure_of_papers", refuse)
    with pytest.raises(PaperError, match="Pango"):
        start_run((), blank=30, by=grower)
    assert not Code.objects.exists()
    assert not PrintRun.objects.exists()


def test_unknown_codes_are_named_up_to_five(grower: Person) -> None:
    # Check characters worked out with python-stdnum, ISO/IEC 7064 MOD 37,36.
    from stdnum.iso7064 import mod_37_36

    payloads = [f"00000{digit}" for digit in "23456789"]
    codes = [payload + mod_37_36.calc_check_digit(payload) for payload in payloads]
    readable = [code for code in codes if code[-1] not in "ILOU"]
    with pytest.raises(NotFound, match=f"and {len(readable) - 5} more"):
        start_run(readable, by=grower)
