"""A TOML file from disk: refused by its size and encoding before it is parsed, with one sentence each."""

import re
import tomllib
from decimal import Decimal
from pathlib import Path
from stat import S_ISDIR, S_ISREG

from gaswright.errors import InputError, Problem

__all__ = ["LARGEST_FILE_BYTES", "bytes_of_file", "text_of_bytes", "toml_of_text"]

LARGEST_FILE_BYTES = 2 * 1024 * 1024
LONGEST_LINE = 2000
_MOST_DOTS = 50
_LINE = re.compile(r"\(at line (\d+), column \d+\)")
_COMMA = re.compile(r"=\s*([0-9]+,[0-9]+)\s*(#.*)?$")
_END = re.compile(r" ?\(at (?:line \d+, column \d+|end of document)\)")


def bytes_of_file(path: Path) -> bytes:
    """The bytes of a file of at most 2 MiB.

    Args:
        path: of the file.

    Raises:
        InputError: there is no such file, it is a folder, it cannot be read, or it is too large.
    """
    name = path.name or str(path)
    try:
        status = path.stat()
        if S_ISDIR(status.st_mode) or not S_ISREG(status.st_mode):
            what = "a folder" if S_ISDIR(status.st_mode) else "not a file that can be read"
            raise InputError([Problem(name, f"this is {what}; give a TOML file")])
        if status.st_size <= LARGEST_FILE_BYTES:
            with path.open("rb") as file:
                content = file.read(LARGEST_FILE_BYTES + 1)
            if len(content) <= LARGEST_FILE_BYTES:
                return content
    except FileNotFoundError as error:
        raise InputError([Problem(name, "there is no such file; check the path")]) from error
    except (OSError, ValueError) as error:
        raise InputError([Problem(name, "this file cannot be read; check the path and its permissions")]) from error
    megabytes = status.st_size / 1e6
    raise InputError([Problem(name, f"this file has {megabytes:.1f} MB; allowed are at most 2 MiB (2.1 MB)")])


def text_of_bytes(content: bytes, name: str) -> str:
    """The text of a UTF-8 file; a byte order mark at its start is passed over.

    Args:
        content: of the file.
        name: of the file.

    Raises:
        InputError: it is not UTF-8.
    """
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise InputError(
            [Problem(f"{name}, line {line}", "this file is not UTF-8 text; save it as UTF-8")]
        ) from error


def _line_problem(line: str) -> str:
    """What would make the parser take minutes: it walks a dotted key again for each of its parts."""
    if len(line) > LONGEST_LINE:
        return f"this line has {len(line)} characters; allowed are at most {LONGEST_LINE}; break it"
    if line.partition("=")[0].count(".") > _MOST_DOTS:
        return f"this key has more than {_MOST_DOTS} dots; write plain tables"
    return ""


def toml_of_text(text: str, name: str) -> dict[str, object]:
    """What a TOML text says, its floats as Decimal so that they stay as typed.

    Args:
        text: of the file.
        name: of the file.

    Raises:
        InputError: it is not TOML, or a line is too long.
    """
    for number, line in enumerate(text.split("\n"), start=1):
        if what := _line_problem(line):
            raise InputError([Problem(f"{name}, line {number}", what)])
    try:
        return tomllib.loads(text, parse_float=Decimal)
    except RecursionError as error:
        raise InputError([Problem(name, "this TOML is nested too deeply; write plain tables")]) from error
    except (ValueError, ArithmeticError) as error:
        found = _LINE.search(str(error))
        place = int(found.group(1)) if found else text.count("\n") + 1
        what = _END.sub("", str(error))[:200] + _comma_hint(text, place)
        raise InputError([Problem(f"{name}, line {place}", f"this is not TOML: {what}")]) from error


def _comma_hint(text: str, line: int) -> str:
    """What to do where a number on this line was written with a comma."""
    lines = text.split("\n")
    found = _COMMA.search(lines[line - 1]) if line <= len(lines) else None
    if found is None:
        return ""
    point = found.group(1).replace(",", ".")
    return f"; a number takes a point in TOML: write {point}, or put it in quotes with its unit"
