"""The cells of a weather file together with the mapping that says what its columns are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.documents.column_names import KEYS, own_unit
from etsched.documents.refusals import closest, written_out
from etsched.errors import Problem, WeatherRefused
from etsched.feeds.csv_cells import Cells, read_cells

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.documents.columns import ColumnMapping

_MAP_IT = "rename it, or describe the file in a column mapping"


@dataclass(frozen=True, slots=True)
class Table:
    """A file's cells, its mapping with rows and columns filled, and where each mapped column stands, from 0.

    The positions of the stamps are under `date` and `time`.
    """

    cells: Cells
    mapping: ColumnMapping
    positions: dict[str, int]

    @property
    def hourly(self) -> bool:
        """Whether a row is an hour; a day otherwise."""
        return self.mapping.rows == "hourly"

    def frame_column(self, key: str) -> str:
        """Give the frame's column that a quantity of the mapping fills: `tmin` fills `tmin_c`."""
        return KEYS["hourly" if self.hourly else "daily"][key]

    def heading(self, key: str) -> str:
        """Give what the file calls a quantity."""
        return self.cells.headings[self.positions[key]]

    def text(self, key: str) -> list[str]:
        """Give the cells of one column."""
        return self.cells.column(self.positions[key])

    def own(self, key: str) -> str:
        """Give the unit this program keeps a quantity in."""
        return own_unit(self.frame_column(key))


def read_table(text: bytes, name: str, mapping: ColumnMapping) -> Table:
    """Cut a file into cells and find the mapped columns. Raises WeatherRefused."""
    cells = read_cells(text, name, mapping.file)
    headed = mapping.as_headed(cells.headings)
    problems = [] if mapping.columns else list(_strangers(cells, headed))
    wanted = {"date": headed.time.date, "time": headed.time.time}
    wanted |= {key: column.column for key, column in headed.columns.items()}
    positions = {}
    for key, heading in wanted.items():
        if heading is None:
            continue
        found = cells.position(heading)
        if isinstance(found, Problem):
            problems.append(found)
        else:
            positions[key] = found
    if problems:
        raise WeatherRefused(problems)
    return Table(cells, headed, positions)


def _strangers(cells: Cells, headed: ColumnMapping) -> Iterator[Problem]:
    """Give the headings that are none of this program's own, in a file that is to wear them."""
    stamps = ["date", "time"] if headed.rows == "hourly" else ["date"]
    known = [*stamps, *KEYS[headed.rows or "daily"].values()]
    if not set(known) & set(cells.headings):
        wrong = f"the headings are not this program's own, which are {written_out(known)}"
        raise WeatherRefused([cells.at_heading("", wrong, "rename them, or describe the file in a column mapping")])
    for heading in cells.headings:
        if heading not in known:
            meant = closest(heading, known)
            hint = f'perhaps you meant "{meant}"' if meant else _MAP_IT
            yield cells.at_heading(heading, "this program has no column of that name", hint)
