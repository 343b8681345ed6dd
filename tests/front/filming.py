"""A browser whose camera films what a test draws."""

import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page

from fraginv.base.symbols import QUIET_MODULES, Symbol, make_symbol
from tests.browsing import FLAGS, PHONE, PROGRAMS

WIDTH, HEIGHT, FRAMES_A_SECOND = 640, 480, 10
PAPER, INK, WATER = 235, 16, 90  # how bright a label, its ink and the water around it are
CAMERA_FLAGS = ("--use-fake-device-for-media-stream",)


def frame_of(symbol: Symbol | None, *, module_px: int = 6) -> bytes:
    """Draw one grey frame with a symbol in its middle, or with water alone."""
    rows = [bytearray([WATER]) * WIDTH for _ in range(HEIGHT)]
    if symbol is not None:
        side = symbol.modules_with_quiet * module_px
        left, top = (WIDTH - side) // 2, (HEIGHT - side) // 2
        for y in range(side):
            rows[top + y][left : left + side] = bytes([PAPER]) * side
        edge = QUIET_MODULES * module_px
        for column, row, length in symbol.runs():
            start = left + edge + column * module_px
            for y in range(module_px):
                line = rows[top + edge + row * module_px + y]
                line[start : start + length * module_px] = bytes([INK]) * (length * module_px)
    return b"".join(rows)


def film(path: Path, scenes: Sequence[tuple[str, float]]) -> Path:
    """Write a film that shows each text as a symbol for some seconds, or water for none.

    Source: the YUV4MPEG2 stream format, as its manual page describes it: a header line,
    then each frame with its planes of light and, at a quarter of the size, of colour.
    """
    header = f"YUV4MPEG2 W{WIDTH} H{HEIGHT} F{FRAMES_A_SECOND}:1 Ip A1:1 C420mpeg2\n".encode()
    colour = bytes([128]) * (WIDTH * HEIGHT // 2)
    with path.open("wb") as file:
        file.write(header)
        for text, seconds in scenes:
            light = frame_of(make_symbol(text) if text else None)
            for _ in range(round(seconds * FRAMES_A_SECOND)):
                file.write(b"FRAME\n" + light + colour)
    return path


@contextmanager
def filming(
    browser: Browser, path: Path | None, *, url: str, allowed: bool = True
) -> Iterator[Page]:
    """Open a page in a browser of its own, with a film for its camera, or with no camera.

    An error in a script of the page fails the test.
    """
    flags = [*FLAGS]
    if path is not None:
        flags += [*CAMERA_FLAGS, f"--use-file-for-fake-video-capture={path}"]
    program = next(filter(None, map(shutil.which, PROGRAMS)))
    own = browser.browser_type.launch(executable_path=program, args=flags)
    errors: list[str] = []
    try:
        context = own.new_context(
            base_url=url, viewport={"width": PHONE[0], "height": PHONE[1]}, reduced_motion="reduce"
        )
        if allowed:
            context.grant_permissions(["camera"])
        page = context.new_page()
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.on(
            "console",
            lambda said: errors.append(said.text) if "olicy" in said.text else None,
        )
        yield page
    finally:
        own.close()
    assert not errors, errors
