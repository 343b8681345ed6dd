"""What of a PDF is taken at the door, and what is not."""

import hashlib
import zlib
from io import BytesIO

import pytest
from pypdf import PdfWriter
from pypdf.generic import DictionaryObject, NameObject, TextStringObject

from fraginv.base.actions.files import store_paper, store_picture
from fraginv.base.errors import Conflict, InputError
from fraginv.base.models import Organisation, StoredFile
from fraginv.base.paper import render_pdf
from fraginv.base.queries.files import damaged_names, missing_names, read_original, storage_for
from fraginv.base.rules.documents import (
    END,
    MOST_BYTES,
    MOST_PAGES,
    START,
    check_pdf,
    document_name,
    streams,
)
from tests.base.test_pictures import make_picture
from tests.refusing import refused


def written(writer: PdfWriter) -> bytes:
    """Return the bytes of a PDF as pypdf, an independent library, writes it."""
    target = BytesIO()
    writer.write(target)
    return target.getvalue()


def make_pdf(pages: int = 1) -> bytes:
    """Make a PDF of blank pages."""
    writer = PdfWriter()
    for _ in range(pages):
        writer.add_blank_page(width=72, height=72)
    return written(writer)


def with_script() -> bytes:
    """Make a PDF that runs a script when it is opened."""
    writer = PdfWriter(BytesIO(make_pdf()))
    script = {NameObject("/S"): NameObject("/JavaScript"), NameObject("/JS"): TextStringObject("x")}
    writer.root_object[NameObject("/OpenAction")] = DictionaryObject(script)
    return written(writer)


def packed(inside: bytes) -> bytes:
    """Make a PDF with an object in a packed stream of objects, whose type is escaped too."""
    head = b"9 0 obj<</Type /Obj#53tm /Filter /FlateDecode>>\nstream\n"
    part = head + zlib.compress(inside) + b"\nendstream endobj\n"
    return make_pdf().replace(b"%%EOF", part + b"%%EOF")


def with_file() -> bytes:
    """Make a PDF that carries another file."""
    writer = PdfWriter(BytesIO(make_pdf()))
    writer.add_attachment("run.exe", b"MZ")
    return written(writer)


def locked() -> bytes:
    """Make a PDF that asks for a password."""
    writer = PdfWriter(BytesIO(make_pdf()))
    writer.encrypt("secret", algorithm="RC4-128")
    return written(writer)


def test_pages_of_other_programs_are_counted(organisation: Organisation) -> None:
    check_pdf(make_pdf(MOST_PAGES))
    # WeasyPrint packs its pages into streams of objects.
    check_pdf(render_pdf("base/layout_paper.html", {"organisation": organisation}))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        pytest.param(make_pdf(MOST_PAGES + 1), f"{MOST_PAGES + 1} pages", id="long"),
        pytest.param(with_script(), "holds a script", id="script"),
        pytest.param(
            with_script().replace(b"/JavaScript", b"/J#61vaScript").replace(b"/JS", b"/J#53"),
            "script",
            id="named",
        ),
        pytest.param(packed(b"<</S /J#61vaScript /J#53 (x)>>"), "script", id="named and packed"),
        pytest.param(packed(b"<</S /L#61unch>>"), "script", id="launched and packed"),
        pytest.param(with_file(), "another file", id="file"),
        pytest.param(locked(), "locked by a password", id="locked"),
        pytest.param(make_pdf()[:200], "damaged or not whole", id="cut off"),
        pytest.param(b"%PDF-1.7\n%%EOF\n", "no page", id="empty"),
        pytest.param(b"%PDF-" + b" " * MOST_BYTES + b"%%EOF", "at most 10 MB", id="large"),
    ],
)
def test_pdfs_that_are_refused(data: bytes, said: str) -> None:
    with pytest.raises(InputError, match=said):
        check_pdf(data)


def test_what_a_picture_in_it_holds_is_no_script() -> None:
    inside = b"1 0 obj<</Length 9>>stream\n/JS /Type /Page\nendstream endobj\n"
    check_pdf(make_pdf().replace(b"%%EOF", inside + b"%%EOF"))


def test_a_pdf_that_unpacks_into_too_much_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    writer = PdfWriter()
    writer.add_blank_page(width=72, height=72)
    monkeypatch.setattr("fraginv.base.rules.documents.MOST_UNPACKED", 10)
    packed = zlib.compress(b"x" * 100)
    inside = b"9 0 obj<</Type /ObjStm>>\nstream\n" + packed + b"\nendstream endobj\n"
    with pytest.raises(InputError, match="unpacks into too much"):
        check_pdf(written(writer).replace(b"%%EOF", inside + b"%%EOF"))


def test_a_pdf_is_kept_once_and_private(organisation: Organisation) -> None:
    data = make_pdf()
    file, again = store_paper(data), store_paper(data)
    assert (file.pk, file.private, file.media_type) == (again.pk, True, "application/pdf")
    assert file.sha256 == hashlib.sha256(data).hexdigest()
    assert read_original(file) == data
    storage, name = storage_for(private=True), document_name(file.sha256)
    storage.delete(name)
    assert list(missing_names(file)) == [name]
    store_paper(data)
    assert not list(missing_names(file))
    with storage.open(name, "wb") as handle:
        handle.write(b"%PDF-spoilt")
    assert list(damaged_names(file)) == [name]
    store_paper(data)
    assert not list(damaged_names(file))


def test_a_photo_of_a_paper_is_private_too_and_other_files_are_refused(
    organisation: Organisation,
) -> None:
    assert store_paper(make_picture()).private
    with refused("a ZIP archive", error=InputError):
        store_paper(b"PK\x03\x04rest")
    with refused("The file is empty", error=InputError):
        store_paper(b"")
    assert StoredFile.objects.count() == 1


def test_a_picture_that_visitors_see_is_no_private_paper(organisation: Organisation) -> None:
    store_picture(make_picture())
    with refused("already kept as a public file", error=Conflict):
        store_paper(make_picture())


def test_streams_without_an_end_are_looked_for_once() -> None:
    """Were each looked for to the end of the file, this would take hours, not a moment."""
    hostile = START + b"1.7\n" + b"stream\n" * 1_000_000 + END
    assert list(streams(hostile)) == []
    with pytest.raises(InputError, match="no page that can be read"):
        check_pdf(hostile)


def test_objects_that_cannot_be_unpacked_are_refused() -> None:
    part = b"<< /Type /ObjStm /Filter /LZWDecode >>\nstream\nxyz\nendstream\n"
    with pytest.raises(InputError, match="packed in a way that is not read here"):
        check_pdf(START + b"1.7\n/Type /Page \n" + part + END)
