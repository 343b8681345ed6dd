"""Symbols as floors draw them, made by the quickest maker at hand."""

from typing import Any

# Column, line and width of each run of dark modules.
Runs = list[tuple[int, int, int]]


def runs_of(text: str) -> Runs:
    """Return the runs of dark modules of a symbol, made by zxing-cpp."""
    import zxingcpp

    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="Q")
    image: Any = made.to_image(scale=1, add_quiet_zones=False)
    height, width = image.shape
    flat = bytes(image)
    runs: Runs = []
    for row in range(height):
        line = flat[row * width : (row + 1) * width]
        column = line.find(b"\x00")
        while column >= 0:
            end = line.find(b"\xff", column)
            end = width if end < 0 else end
            runs.append((column, row, end - column))
            column = line.find(b"\x00", end)
    return runs


def strokes(runs: Runs) -> bytes:
    """Write runs as PDF operators."""
    return b"\n".join(b"%d %d %d 1 re" % run for run in runs)
