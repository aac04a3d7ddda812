"""A weather file as text: from bytes to headings and cells, each row knowing its line."""

from __future__ import annotations

import codecs
import csv
import json
import re
from dataclasses import dataclass
from io import StringIO
from itertools import islice
from typing import TYPE_CHECKING

from etsched.documents.refusals import clean, shown
from etsched.errors import Problem, WeatherRefused

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from etsched.documents.columns import FileLayout

# A fault that every line shares is told for the first lines only, with the number of the others.
_MOST_TOLD = 5
_MARKUP = re.compile(r"\s*<(!doctype|html|\?xml|head|body)", re.IGNORECASE)
_WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
_ENCODING_REMEDY = "save it as UTF-8, or set encoding in [file] of the column mapping"
_HEADER_LINE_REMEDY = "set header_line in [file] of the column mapping to the line of the headings"
_OTHER_DELIMITERS = (";", "\t", "|", ",")


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of a file below its headings; `lines` holds the line each row begins on."""

    file: str
    heading_line: int
    headings: tuple[str, ...]
    rows: tuple[list[str], ...]
    lines: tuple[int, ...]

    def column(self, position: int) -> list[str]:
        """Give the stripped text of one column, from the top."""
        return [row[position].strip() for row in self.rows]

    def position(self, heading: str | int) -> int | Problem:
        """Find a column by heading, or by position counted from 1."""
        if isinstance(heading, int):
            if heading <= len(self.headings):
                return heading - 1
            return self.at_heading(
                f"column {heading}",
                f"there are {len(self.headings)} columns only",
                "correct the column mapping",
            )
        found = [at for at, name in enumerate(self.headings) if name == heading]
        if len(found) == 1:
            return found[0]
        if found:
            places = " and ".join(str(at + 1) for at in found)
            remedy = f"name the one that is meant by its position, such as column = {found[0] + 1}"
            return self.at_heading(heading, f"the heading stands over columns {places}", remedy)
        known = ", ".join(shown(name) for name in self.headings[:20])
        remedy = f"correct the name in the column mapping; the headings are {known}"
        return self.at_heading(heading, "there is no such heading", remedy)

    def at_heading(self, field: str, wrong: str, remedy: str) -> Problem:
        """Give a problem of the line of headings."""
        return Problem(self.file, self.heading_line, clean(field), wrong, remedy)

    def at_rows(self, rows: Sequence[int], field: str, say: Callable[[int], tuple[str, str]]) -> list[Problem]:
        """Give the problems of one kind in some rows; `say` tells of a row what is wrong and what to do."""
        told = [Problem(self.file, self.lines[row], clean(field), *say(row)) for row in rows[:_MOST_TOLD]]
        if (more := len(rows) - len(told)) > 0:
            last = told.pop()
            wrong = f"{last.wrong}, and {more} more lines have the same fault"
            told.append(Problem(last.file, last.line, last.field, wrong, last.remedy))
        return told


def read_cells(text: bytes, name: str, layout: FileLayout) -> Cells:
    """Cut a file into cells. Raises WeatherRefused where it is no table with one heading a column.

    Parameters
    ----------
    text : bytes
        The whole file; a byte order mark is passed over.
    name : str
        What problems call it.
    layout : FileLayout
        Delimiter, encoding and line of the headings.

    Returns
    -------
    cells : Cells
    """
    source = StringIO(_decoded(text, name, layout.encoding), newline="")
    skipped = sum(1 for _ in islice(source, layout.header_line - 1))
    reader = csv.reader(source, delimiter=layout.delimiter)
    rows, lines, begins = [], [], skipped + 1
    try:
        headings = tuple(cell.strip() for cell in next(reader, []))
        begins = skipped + reader.line_num + 1
        for row in reader:
            if any(cell and not cell.isspace() for cell in row):
                rows.append(row)
                lines.append(begins)
            begins = skipped + reader.line_num + 1
    except csv.Error as error:
        wrong = f"what begins here cannot be cut into cells ({error})"
        raise _refused(name, begins, wrong, "look for a quotation mark that is never closed") from None
    cells = Cells(name, layout.header_line, headings, tuple(rows), tuple(lines))
    if problems := _misshapen(cells, layout):
        raise WeatherRefused(problems)
    return cells


def _refused(name: str, line: int | None, wrong: str, remedy: str) -> WeatherRefused:
    return WeatherRefused([Problem(name, line, "", wrong, remedy)])


def _decoded(text: bytes, name: str, encoding: str) -> str:
    """Give the text of a file that is one."""
    if text.startswith(_WORKBOOKS):
        raise _refused(name, None, "this is a workbook or an archive, not text", "save the table as CSV")
    try:
        decoded = text.decode("utf-8-sig" if codecs.lookup(encoding).name == "utf-8" else encoding)
    except UnicodeDecodeError as error:
        line = text.count(b"\n", 0, error.start) + 1
        wrong = f'byte {text[error.start]:02x} is no text in the encoding "{encoding}"'
        raise _refused(name, line, wrong, _ENCODING_REMEDY) from None
    except ValueError:  # such as a byte order mark that UTF-16 asks for and the file lacks
        raise _refused(name, None, f'this is no text in the encoding "{encoding}"', _ENCODING_REMEDY) from None
    if not decoded.strip():
        raise _refused(name, None, "the file is empty", "export the weather again")
    if (zero := decoded.find("\0")) >= 0:
        line = decoded.count("\n", 0, zero) + 1
        raise _refused(name, line, "it holds binary zeros, which no text does", _ENCODING_REMEDY)
    if _MARKUP.match(decoded):
        raise _refused(name, 1, "this is a web page, not a table", "download the weather itself as CSV")
    return decoded


def _misshapen(cells: Cells, layout: FileLayout) -> list[Problem]:
    """Give what keeps the rows from being a table: no headings, no rows, another delimiter, ragged rows."""
    if not any(cells.headings):
        return [cells.at_heading("", "there are no headings here", _HEADER_LINE_REMEDY)]
    if len(cells.headings) == 1:
        for other in _OTHER_DELIMITERS:
            if other != layout.delimiter and other in cells.headings[0]:
                wrong = f"the headings are parted by {json.dumps(other)}, not by {json.dumps(layout.delimiter)}"
                remedy = f"set delimiter = {json.dumps(other)} in [file] of the column mapping"
                return [cells.at_heading("", wrong, remedy)]
    if not cells.rows:
        return [cells.at_heading("", "no row follows the headings", "export the weather again")]
    wanted = len(cells.headings)
    ragged = [
        at for at, row in enumerate(cells.rows) if len(row) < wanted or any(cell.strip() for cell in row[wanted:])
    ]

    if len(ragged) == len(cells.rows):
        wrong = f"no row has as many cells as there are headings here, which are {wanted}"
        return [cells.at_heading("", wrong, _HEADER_LINE_REMEDY)]

    def say(at: int) -> tuple[str, str]:
        held = len(cells.rows[at])
        wrong = f"the row has {held} cell{'s' * (held != 1)} under {wanted} headings"
        if any("\n" in cell for cell in cells.rows[at]):
            return wrong, "close the quotation mark that runs on over the line's end"
        if held > wanted:
            return wrong, "put cells that hold a delimiter, such as a decimal comma, into quotation marks"
        return wrong, "complete the row or take it out"

    return cells.at_rows(ragged, "", say)
