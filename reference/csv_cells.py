#!/usr/bin/env python3
"""Cells to a list and back, with Python's csv module.

    python3 reference/csv_cells.py < jobs > answers

Only the standard library. A job is a line of words, the last of which is a number of
bytes, and then those bytes: `write DELIMITER ENCODING QUOTING LINE_END BYTES` and cells, or
`read DELIMITER ENCODING BYTES` and a list. An answer is a line with a number of bytes, and
then those bytes. A delimiter is comma, semicolon or tab; an encoding is a name
that Python knows; quoting is minimal or all; a line end is crlf, lf or cr. Cells are a row
a line, each cell the hexadecimal digits of its UTF-8 in brackets, so that no cell can be
mistaken for two.

Sources: RFC 4180; the rest as Python's csv module has it.
"""

import csv
import io
import sys

DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t"}
QUOTING = {"minimal": csv.QUOTE_MINIMAL, "all": csv.QUOTE_ALL}
LINE_ENDS = {"crlf": "\r\n", "lf": "\n", "cr": "\r"}


def to_cells(text):
    return [
        [bytes.fromhex(cell).decode("utf-8") for cell in line[1:-1].split("][")]
        for line in text.splitlines()
    ]


def from_cells(rows):
    return "".join("".join(f"[{cell.encode('utf-8').hex()}]" for cell in row) + "\n" for row in rows)


def answer(words, data):
    if words[0] == "write":
        _, delimiter, encoding, quoting, line_end = words
        out = io.StringIO(newline="")
        writer = csv.writer(
            out,
            delimiter=DELIMITERS[delimiter],
            quoting=QUOTING[quoting],
            lineterminator=LINE_ENDS[line_end],
        )
        writer.writerows(to_cells(data.decode("ascii")))
        return out.getvalue().encode(encoding)
    _, delimiter, encoding = words
    lines = io.StringIO(data.decode(encoding), newline="")
    rows = csv.reader(lines, delimiter=DELIMITERS[delimiter], strict=True)
    return from_cells(rows).encode("ascii")


while job := sys.stdin.buffer.readline():
    *words, size = job.decode("ascii").split()
    result = answer(words, sys.stdin.buffer.read(int(size)))
    sys.stdout.buffer.write(b"%d\n%b" % (len(result), result))
