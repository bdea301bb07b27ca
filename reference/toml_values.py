#!/usr/bin/env python3
"""The values of TOML files, with Python's tomllib (TOML 1.0.0).

    python3 reference/toml_values.py < jobs > answers

Only the standard library of Python 3.11 or newer. A job is a line `values BYTES` and then a
file of so many bytes; an answer is a line with a number of bytes, and then those bytes: a
line for each value, sorted, which says where it stands and then what it is; texts and keys as hexadecimal digits of their UTF-8, floats as the
hexadecimal digits of their 64 bits (IEEE 754), so that nothing is rounded on the way.
"""

import struct
import sys

try:
    import tomllib
except ImportError:
    sys.exit("tomllib is missing; install Python 3.11 or newer")


def lines(path, value):
    if isinstance(value, dict):
        yield f"{path} table"
        for key, inner in value.items():
            yield from lines(f"{path}.{key.encode('utf-8').hex()}", inner)
    elif isinstance(value, list):
        yield f"{path} array {len(value)}"
        for i, inner in enumerate(value):
            yield from lines(f"{path}[{i}]", inner)
    elif isinstance(value, bool):
        yield f"{path} bool {str(value).lower()}"
    elif isinstance(value, int):
        yield f"{path} int {value}"
    elif isinstance(value, float):
        yield f"{path} float {struct.pack('>d', value).hex()}"
    elif isinstance(value, str):
        yield f"{path} text {value.encode('utf-8').hex()}"
    else:
        yield f"{path} time {value.isoformat()}"


while job := sys.stdin.buffer.readline():
    file = sys.stdin.buffer.read(int(job.split()[1])).decode("utf-8")
    result = "".join(f"{line}\n" for line in sorted(lines("", tomllib.loads(file)))).encode("ascii")
    sys.stdout.buffer.write(b"%d\n%b" % (len(result), result))
