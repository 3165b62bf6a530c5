#!/usr/bin/env python3
"""Writes dialects.tsv: one table, as Python's csv module and codecs write it in every mix of
encoding, separator, line end and quoting. Columns: encoding, separator, line end, quoting, and
the bytes of the file in hexadecimal. Run without arguments; needs nothing but Python 3.
"""

import codecs
import csv
import io
import pathlib

ROWS = [
    ["Steuergerät", "Name", "Wert; Wert, now\t"],
    ["Body Control", "Lane-change flashes", "5"],
    ["Türmodul", 'Text with "marks"', "a;b,c\td"],
    ["Türmodul", "Two{end}lines – first", " é "],
    ["Türmodul", "Last", "0"],
]
ENCODINGS = {
    "utf-8": lambda text: text.encode("utf-8"),
    "utf-8 with mark": lambda text: text.encode("utf-8-sig"),
    "utf-16le with mark": lambda text: codecs.BOM_UTF16_LE + text.encode("utf-16-le"),
    "utf-16be with mark": lambda text: codecs.BOM_UTF16_BE + text.encode("utf-16-be"),
    "windows-1252": lambda text: text.encode("cp1252"),
}
SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t"}
ENDS = {"lf": "\n", "crlf": "\r\n", "cr": "\r"}
QUOTING = {"where needed": csv.QUOTE_MINIMAL, "always": csv.QUOTE_ALL}

with open(pathlib.Path(__file__).with_name("dialects.tsv"), "w", encoding="ascii", newline="") as out:
    for encoding, encode in ENCODINGS.items():
        for separator, delimiter in SEPARATORS.items():
            for end, terminator in ENDS.items():
                for quoting, style in QUOTING.items():
                    file = io.StringIO(newline="")
                    rows = [[cell.replace("{end}", terminator) for cell in row] for row in ROWS]
                    csv.writer(file, delimiter=delimiter, lineterminator=terminator, quoting=style).writerows(rows)
                    data = encode(file.getvalue()).hex()
                    out.write("\t".join([encoding, separator, end, quoting, data]) + "\n")
