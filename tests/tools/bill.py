"""Judges a bill of materials by the JSON schema of CycloneDX 1.6.

Usage: python bill.py FILE
Ends with 1, and prints the fault, if the file does not follow the schema.
"""

import pathlib
import sys

from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator

text = pathlib.Path(sys.argv[1]).read_text(encoding="utf-8")
fault = JsonStrictValidator(SchemaVersion.V1_6).validate_str(text)
if fault is not None:
    sys.exit(f"no CycloneDX 1.6: {fault}")
