"""The round sheet: Markdown that a trainee or a mentor fills in with any editor, written and read back.

Written, read and written again it is unchanged; every fault of a filled sheet comes with its line. `values` holds
the grammar of a reading, `names` what headings and lines are called, `page` what prose may look like.
"""

from __future__ import annotations

from evalkit.files.sheets.file import read_sheet_file
from evalkit.files.sheets.header import SheetHeader, SheetKind, sheet_header
from evalkit.files.sheets.of_intake import read_intake_sheet
from evalkit.files.sheets.of_mentor import read_marking_sheet
from evalkit.files.sheets.of_trainee import read_assessment_sheet
from evalkit.files.sheets.writing import write_assessment_sheet, write_intake_sheet, write_marking_sheet

__all__ = [
    "SheetHeader",
    "SheetKind",
    "read_assessment_sheet",
    "read_intake_sheet",
    "read_marking_sheet",
    "read_sheet_file",
    "sheet_header",
    "write_assessment_sheet",
    "write_intake_sheet",
    "write_marking_sheet",
]
