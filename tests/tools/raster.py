"""Reads a PWG raster document with CUPS's own reader, and prints each page as JSON: what its head says,
and its dots as rows of hexadecimal bits, 1 for black."""

import ctypes
import json
import os
import struct
import sys

cups = ctypes.CDLL("libcups.so.2")
cups.cupsRasterOpen.restype = ctypes.c_void_p
cups.cupsRasterOpen.argtypes = [ctypes.c_int, ctypes.c_int]
cups.cupsRasterReadHeader2.restype = ctypes.c_uint
cups.cupsRasterReadHeader2.argtypes = [ctypes.c_void_p, ctypes.c_char_p]
cups.cupsRasterReadPixels.restype = ctypes.c_uint
cups.cupsRasterReadPixels.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_uint]
cups.cupsRasterErrorString.restype = ctypes.c_char_p

HEAD = 1796
# Where numbers stand in the head, in bytes (PWG 5102.4-2012, table 2).
NUMBERS = {
    "cross_feed_dpi": 276,
    "feed_dpi": 280,
    "copies": 340,
    "width_pt": 352,
    "height_pt": 356,
    "width": 372,
    "height": 376,
    "bits_per_color": 384,
    "bits_per_pixel": 388,
    "bytes_per_line": 392,
    "color_order": 396,
    "color_space": 400,
    "colors": 420,
    "pages": 452,
    "cross_feed_transform": 456,
    "feed_transform": 460,
}


def bits(row, head):
    """The dots of a row as text, whatever their depth."""
    if head["bits_per_pixel"] == 1:
        dots = "".join(f"{byte:08b}" for byte in row)[: head["width"]]
        # In the colour space "black", 1 is black.
        return dots
    return "".join("1" if byte < 128 else "0" for byte in row)


def page(raster, raw):
    # CUPS gives numbers in the order of bytes of this machine.
    head = {name: struct.unpack_from("=I", raw, at)[0] for name, at in NUMBERS.items()}
    head["class"] = raw[0:64].split(b"\0")[0].decode()
    head["name"] = raw[1732:1796].split(b"\0")[0].decode()
    rows = []
    for number in range(head["height"]):
        row = ctypes.create_string_buffer(head["bytes_per_line"])
        read = cups.cupsRasterReadPixels(raster, row, head["bytes_per_line"])
        if read != head["bytes_per_line"]:
            sys.exit(f"row {number}: {cups.cupsRasterErrorString()}")
        rows.append(bits(row.raw, head))
    return {"head": head, "rows": rows}


def main():
    file = os.open(sys.argv[1], os.O_RDONLY)
    raster = cups.cupsRasterOpen(file, 0)
    if not raster:
        sys.exit(f"open: {cups.cupsRasterErrorString()}")
    pages = []
    raw = ctypes.create_string_buffer(HEAD)
    while cups.cupsRasterReadHeader2(raster, raw):
        pages.append(page(raster, raw.raw))
    if os.read(file, 1):
        sys.exit("there is more behind the last page")
    print(json.dumps(pages))


main()
