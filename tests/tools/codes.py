"""Reads the 2-D codes of a picture with ZXing-C++, and prints them as JSON with level and version."""

import json
import sys

import zxingcpp
from PIL import Image

codes = zxingcpp.read_barcodes(Image.open(sys.argv[1]), formats=zxingcpp.BarcodeFormat.QRCode)
told = [
    {"text": code.text, "level": code.ec_level, "version": code.extra["Version"]} for code in codes
]
print(json.dumps(told))
