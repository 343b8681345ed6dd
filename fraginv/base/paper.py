"""Papers: a template in, a PDF out. The one importer of WeasyPrint.

WeasyPrint needs Pango, a library of the system. It is imported at the first
paper, not with this module, so that everything else works without it and the
system check can say what is missing.
"""

import atexit
import contextlib
import io
import re
import threading
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

from django.conf import settings
from django.template.loader import render_to_string

from fraginv.base.errors import FraginvError
from fraginv.base.fonts import paper_faces, text_width

# Given a page's number (from 0) it returns PDF drawing operators. The unit is one
# millimetre from the page's top left corner, y grows downwards, the colour is black.
# What it draws lies under the page's text.
Finisher = Callable[[int], str]

POINTS_PER_MM = 72 / 25.4
# The rules of notes in the library's own style, one a line.
NOTES = re.compile(r"^::(?:foot)?note-.*$", re.MULTILINE)
LOCAL = threading.local()
# The library's font configuration cleans up after itself, but not once the interpreter ends.
atexit.register(LOCAL.__dict__.clear)


class PaperError(FraginvError):
    """A paper could not be made."""

    code = "paper"
    status = 500


def render_pdf(
    template: str,
    context: Mapping[str, Any],
    *,
    finisher: Finisher | None = None,
    tagged: bool = True,
    pictures: Mapping[str, Path | bytes] | None = None,
) -> bytes:
    """Render a template as a PDF; the same input gives the same bytes.

    Nothing is fetched from the network: only files under ``static/`` and the
    media folder, and the given pictures as ``picture:NAME``, can be shown.

    Args: the template's name and context; ``finisher`` draws vectors on each
        page; ``tagged`` makes an accessible PDF/UA-1, for which the template
        needs a title and a language (``base/layout_paper.html`` has both).
    Raises: PaperError when Pango is missing or a picture or stylesheet cannot
        be read; FontMissing when no font is installed.
    """
    make_sure_of_papers()
    from weasyprint.urls import FatalURLFetchingError

    html = lean_html()(
        string=render_to_string(template, dict(context)),
        base_url=static_folder().as_uri() + "/",
        url_fetcher=fetcher(pictures or {}),
    )
    try:
        return write_pdf(html, finisher=finisher, tagged=tagged)
    except (FatalURLFetchingError, PaperError) as error:
        raise PaperError(f"{template}: {error}") from error


@cache
def lean_html() -> Any:
    """Return the library's reader of HTML, without the style of notes at the foot of pages.

    No paper here has such notes, and their rules give every element five styles more,
    which is a twentieth of a paper's time. Where a newer library asks for its own style
    in another way, this only costs time again.
    """
    from weasyprint import CSS, HTML

    own = files("weasyprint").joinpath("css", "html5_ua.css").read_text()
    lean = CSS(string=NOTES.sub("", own))

    class LeanHTML(HTML):  # type: ignore[misc] # the library has no types
        """Read a paper with the style of what papers have."""

        def _ua_stylesheets(self, forms: bool = False) -> list[Any]:
            return [lean]

    return LeanHTML


def write_pdf(html: Any, *, finisher: Finisher | None, tagged: bool) -> bytes:
    """Lay a parsed paper out and write it.

    Raises: PaperError when a picture cannot be read as one, where the library
        would leave it out.
    """
    font_config, stylesheet = house_style()
    images: dict[str, object] = {}
    pdf = html.write_pdf(
        font_config=font_config,
        stylesheets=[stylesheet],
        finisher=adapt(finisher) if finisher else None,
        pdf_variant="pdf/ua-1" if tagged else None,
        cache=images,
    )
    unread = [url for url, image in images.items() if image is None]
    if unread:
        raise PaperError(f"the picture {unread[0]} cannot be read as a picture.")
    return bytes(pdf)


def make_sure_of_papers() -> None:
    """Refuse to go on where papers cannot be made, before anything is written for one.

    Raises: PaperError when WeasyPrint or Pango is missing; FontMissing when no
        font is installed.
    """
    problem = import_problem()
    if problem:
        raise PaperError(problem)
    faces_at_home(settings.FRAGINV_HOME)


@cache
def import_problem() -> str:
    """Say why WeasyPrint cannot be used, in plain words; empty when it can."""
    try:
        # On failure the library prints advice of its own before it raises.
        with contextlib.redirect_stdout(io.StringIO()):
            import weasyprint  # noqa: F401 only whether it loads
    except OSError as error:
        return (
            "Papers (labels, receipts, sheets) cannot be made: WeasyPrint does not find Pango or a"
            f" library that comes with it ({error}). Run .ci/setup, or install it: on Debian and"
            " Ubuntu the packages libpango-1.0-0, libpangoft2-1.0-0 and libharfbuzz-subset0; on"
            " macOS 'brew install pango'; elsewhere the system's package of Pango 1.44 or newer."
        )
    except ImportError as error:
        return (
            f"Papers (labels, receipts, sheets) cannot be made: WeasyPrint is missing ({error})."
            " Run .ci/setup, which installs what pyproject.toml lists."
        )
    return ""


def paper_width(text: str, *, weight: int) -> float:
    """Return how wide a text runs in the papers' font, in ems.

    Args: weight 400 or 600.
    Raises: FontMissing when no font is installed.
    """
    return text_width(text, face=faces_at_home(settings.FRAGINV_HOME)[weight])


@cache
def faces_at_home(home: Path) -> dict[int, Path]:
    """Return the papers' faces; looked for once in a process."""
    return paper_faces(home)


def static_folder() -> Path:
    """Return the folder of the project's own static files."""
    return Path(settings.STATICFILES_DIRS[0])


def house_style() -> tuple[Any, Any]:
    """Return this thread's font configuration and stylesheet of papers.

    Both are kept between papers; Pango's font maps must not cross threads.
    """
    from weasyprint import CSS
    from weasyprint.text.fonts import FontConfiguration

    source = static_folder() / "css" / "print.css"
    key = (settings.FRAGINV_HOME, source.stat().st_mtime_ns)
    kept = getattr(LOCAL, "style", None)
    if kept and kept[0] == key:
        return kept[1], kept[2]
    font_config = FontConfiguration()
    faces = "".join(
        f'@font-face {{ font-family: "Paper"; font-weight: {weight}; src: url("{file.as_uri()}") }}'
        for weight, file in faces_at_home(settings.FRAGINV_HOME).items()
    )
    stylesheet = CSS(
        string=f'@import url("{source.as_uri()}");\n{faces}',
        font_config=font_config,
        url_fetcher=fetcher({}),
    )
    LOCAL.style = (key, font_config, stylesheet)
    return font_config, stylesheet


def fetcher(pictures: Mapping[str, Path | bytes]) -> Any:
    """Return the only way by which a paper may reach a file.

    Whatever else a template asks for ends the paper: a sheet without its
    pictures must not pass for a whole one.
    """
    from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

    roots = (
        static_folder().resolve(),
        (settings.FRAGINV_HOME / "media").resolve(),
        (settings.FRAGINV_HOME / "fonts").resolve(),
    )

    class HouseFetcher(URLFetcher):  # type: ignore[misc] # the library has no types
        """Open files of the house and given pictures, nothing else."""

        def fetch(self, url: str, headers: Mapping[str, str] | None = None) -> Any:
            parts = urlsplit(url)
            if parts.scheme == "picture":
                source = pictures.get(unquote(parts.path))
            elif parts.scheme == "file":
                file = Path(unquote(parts.path)).resolve()
                source = file if any(file.is_relative_to(root) for root in roots) else None
            else:
                source = None
            if isinstance(source, Path):
                # A file's own address lets the library read it again when it writes, not keep it.
                url = source.as_uri()
            if source is None:
                raise FatalURLFetchingError(f"{url} is not a file that papers may show.")
            try:
                body = source if isinstance(source, bytes) else source.read_bytes()
            except OSError as error:
                raise FatalURLFetchingError(f"{url} cannot be read: {error}.") from error
            kind = {".css": "text/css", ".svg": "image/svg+xml"}.get(Path(parts.path).suffix, "")
            return URLFetcherResponse(url, body, {"Content-Type": kind} if kind else {})

    return HouseFetcher()


def adapt(finisher: Finisher) -> Callable[[Any, Any], None]:
    """Turn a finisher that draws in millimetres into one that WeasyPrint calls."""
    import pydyf

    def finish(document: Any, pdf: Any) -> None:
        """Put one stream with the drawing before the text of each page."""
        for number, (page, kid) in enumerate(
            zip(document.pages, pdf.pages["Kids"][0::3], strict=True)
        ):
            drawing = finisher(number)
            if not drawing:
                continue
            unit, height = POINTS_PER_MM, page.height * 0.75
            frame = f"q {unit:.6f} 0 0 {-unit:.6f} 0 {height:.4f} cm\n{drawing}\nQ"
            stream = pydyf.Stream([frame.encode("ascii")], compress=True)
            pdf.add_object(stream)
            sheet = pdf.objects[kid]
            sheet["Contents"] = pydyf.Array([stream.reference, sheet["Contents"]])

    return finish
